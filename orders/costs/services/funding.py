"""Funding rules: who pays what no hand has split. Their shares sum to the whole."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from orders.common.changes import change_record, version_bump
from orders.common.errors import VersionMismatch
from orders.common.rows import Findings, plain_values, row_facts
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import FundingRule, FundingRuleShare
from orders.costs.services.entries import WHOLE_E4, Payer
from orders.sites.models import Site

Told = dict[str, Any]


@writing()
def funding_rule_add(
    *,
    name: str,
    from_day: date,
    last_day: date | None = None,
    site: Site | None = None,
    method_code: str = "",
    work_code: str = "",
    shares: Iterable[Payer],
    stamp: Stamp,
) -> FundingRule:
    """Add a rule with its shares. An empty field fits everything."""
    rule = FundingRule(
        name=name, from_day=from_day, last_day=last_day, site=site, method_code=method_code, work_code=work_code
    )
    wanted = list(shares)
    _check(rule, wanted, "The funding rule was not added.")
    rule.save(force_insert=True)
    _shares_store(rule, wanted)
    change_record(stamp=stamp, verb="funding_rule_add", entity=rule, after=_told(rule, wanted))
    return rule


@writing()
def funding_rule_edit(
    *, rule: FundingRule, values: Told, shares: Iterable[Payer] | None = None, expected: int, stamp: Stamp
) -> FundingRule:
    """Change what a rule fits or who pays. What was posted by it stays as it was posted."""
    proposed = FundingRule.objects.get(pk=rule.pk)
    for name, value in values.items():
        setattr(proposed, name, value)
    standing = _payers(rule)
    wanted = standing if shares is None else list(shares)
    _check(proposed, wanted, "The funding rule was not changed.")
    before = _told(rule, standing)
    version_bump(rule, expected=expected, **values)
    if shares is not None:
        rule.shares.all().delete()
        _shares_store(rule, wanted)
    change_record(stamp=stamp, verb="funding_rule_edit", entity=rule, before=before, after=_told(rule, wanted))
    return rule


@writing()
def funding_rule_remove(*, rule: FundingRule, expected: int, stamp: Stamp) -> None:
    """Take a rule away; what was posted by it stays."""
    held = FundingRule.objects.filter(pk=rule.pk, version=expected)
    if not held.exists():
        raise VersionMismatch("This was changed by somebody else since you read it.", data={"version": rule.version})
    change_record(stamp=stamp, verb="funding_rule_remove", entity=rule, before=_told(rule, _payers(rule)))
    held.delete()


def shares_check(shares: Sequence[Payer], found: Findings) -> None:
    """Each award belongs to its fund, none stands twice, and they sum to the whole."""
    for share in shares:
        belongs = share.award is None or share.award.fund_id == share.fund.pk
        award = share.award.code if share.award else ""
        found.need(belongs, "shares.award", f"{award} is not paid through {share.fund.code}.")
        found.need(not share.fund.is_suspense, "shares.fund", "The suspense fund pays nothing by rule.")
    once = {(share.fund.pk, share.award.pk if share.award else None) for share in shares}
    found.need(len(once) == len(shares), "shares", "A fund or award is named twice.")
    found.need(sum(share.share_e4 for share in shares) == WHOLE_E4, "shares", "They must add up to 100%.")


def _check(rule: FundingRule, shares: Sequence[Payer], refusal: str) -> None:
    found = Findings()
    found.days_in_order(rule.from_day, rule.last_day)
    of_order = rule.site_id or rule.method_code
    found.need(not (of_order and rule.work_code), "work_code", "Orders have no work code: fill it or the others.")
    shares_check(shares, found)
    found.row(rule)
    found.refuse(refusal)


def _shares_store(rule: FundingRule, shares: Iterable[Payer]) -> None:
    FundingRuleShare.objects.bulk_create(
        FundingRuleShare(rule=rule, fund=share.fund, award=share.award, share_e4=share.share_e4) for share in shares
    )


def _payers(rule: FundingRule) -> list[Payer]:
    rows = rule.shares.select_related("fund", "award").order_by("id")
    return [Payer(row.fund, row.award, row.share_e4) for row in rows]


def _told(rule: FundingRule, shares: Iterable[Payer]) -> Told:
    told = [[share.fund.code, share.award.code if share.award else "", share.share_e4] for share in shares]
    return {**row_facts(rule), **plain_values({"shares": told})}
