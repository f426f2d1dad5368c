"""Who pays a cost: by the order's split, by a rule, or nobody yet. And the gate that each posting passes: a charge that
its payer may not take goes to suspense and waits for finance, in the same transaction."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from orders.common.errors import FieldError, Invalid
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.fund_selectors import award_term
from orders.costs.models import Award, Fund, FundingRule, LedgerEntry, OrderFunding
from orders.costs.selectors import fund_suspense, reversal_key
from orders.costs.services.checks import Charge, ChargeProblem, Spent, charge_check
from orders.costs.services.entries import WHOLE_E4, Cost, Payer
from orders.costs.services.holding import Held, charges_hold, held_key
from orders.sites.models import Site

NOBODY_PAYS = ChargeProblem("nobody-pays", "No order, rule or person says who pays this.", field="fund")


def payers_of(cost: Cost, funding: Sequence[OrderFunding], suspense: Fund) -> list[Payer]:
    """Who is meant to pay: the order's split, else a rule, else nobody yet. `entries_post` checks whether they may."""
    if funding:
        return [Payer(row.fund, row.award, row.share_e4) for row in funding]
    methods = {prescription.method.code for prescription, _ in cost.served}
    site = cost.order.site if cost.order else None
    method_code = methods.pop() if len(methods) == 1 else ""
    named = rule_payers(on=cost.work_date, work_code=cost.work_code, site=site, method_code=method_code)
    return named or [Payer(suspense, None, WHOLE_E4)]


def payers_by_rule(*, on: date, work_code: str = "", site: Site | None = None, method_code: str = "") -> list[Payer]:
    """By the rule that fits best; where none does, the suspense fund."""
    named = rule_payers(on=on, work_code=work_code, site=site, method_code=method_code)
    return named or [Payer(fund_suspense(), None, WHOLE_E4)]


def rule_payers(*, on: date, work_code: str = "", site: Site | None = None, method_code: str = "") -> list[Payer]:
    """Of the rules that fit, the one with the most fields filled counts, then the newest. Empty where none fits."""
    fitting = list(_rules_fitting(on, work_code, site, method_code))
    if not fitting:
        return []
    best = max(fitting, key=lambda rule: (_filled(rule), rule.from_day, rule.pk))
    return [Payer(row.fund, row.award, row.share_e4) for row in best.shares.all()]


def _rules_fitting(on: date, work_code: str, site: Site | None, method_code: str) -> QuerySet[FundingRule]:
    rules = FundingRule.objects.filter(Q(last_day=None) | Q(last_day__gte=on), from_day__lte=on)
    rules = rules.filter(work_code__in={"", work_code}, method_code__in={"", method_code})
    rules = rules.filter(Q(site=None) | Q(site=site)) if site else rules.filter(site=None)
    return rules.prefetch_related("shares__fund", "shares__award")


def _filled(rule: FundingRule) -> int:
    return bool(rule.site_id) + bool(rule.method_code) + bool(rule.work_code)


@writing()
def entries_post(rows: Sequence[LedgerEntry], *, stamp: Stamp, again: bool = False) -> list[LedgerEntry]:
    """Save what `entries_make` made. Of each cost, the whole part of a payer who may not take it goes to suspense and
    is held; a part is never split. Settlements pass as they are; in-kind match too, but of a day outside an award's
    period it is no match of that award, and stands with its fund alone.

    `again`: rows of the same source and revision that were taken back may be posted anew beside them.
    """
    _payers_load(rows)
    for row in rows:
        if row.book == "match" and row.award and not row.award.first_day <= row.work_date <= row.award.last_day:
            row.award = None
    spent = Spent()
    held = []
    for part in _parts(rows):
        problem = _problem(part, spent)
        if problem is not None:
            held.append(_suspended(part, problem))
    if again:
        _keys_renew(rows)
    posted = LedgerEntry.objects.bulk_create(rows)
    charges_hold(held, stamp=stamp)
    return posted


def _payers_load(rows: Iterable[LedgerEntry]) -> None:
    """Rows fresh from `entries_make` know their payers by key only: read each once, not once a row."""
    funds = Fund.objects.in_bulk({row.fund_id for row in rows})
    awards = Award.objects.in_bulk({row.award_id for row in rows if row.award_id})
    for row in rows:
        row.fund = funds[row.fund_id]
        row.award = awards[row.award_id] if row.award_id else None


def _parts(rows: Iterable[LedgerEntry]) -> list[list[LedgerEntry]]:
    """The rows of one payer of one cost, each together."""
    parts: dict[tuple[object, ...], list[LedgerEntry]] = {}
    for row in rows:
        if row.book == "cost":
            key = row.source_kind, row.source_id, row.revision, row.fund_id, row.award_id, row.category
            parts.setdefault(key, []).append(row)
    return [part for part in parts.values() if any(row.amount_cents for row in part)]


def _problem(part: Sequence[LedgerEntry], spent: Spent) -> ChargeProblem | None:
    first = part[0]
    if first.fund.is_suspense:
        return NOBODY_PAYS
    charge = Charge(
        fund=first.fund,
        award=first.award,
        category=first.category,
        work_date=first.work_date,
        cents=sum(row.amount_cents for row in part),
        site_code=first.site_code,
        month=first.posting_month,
    )
    problem = charge_check(charge, spent=spent)
    if problem is None:
        spent.add(charge)
    return problem


def _suspended(part: Sequence[LedgerEntry], problem: ChargeProblem) -> Held:
    first = part[0]
    held = Held(
        source_kind=first.source_kind,
        source_id=first.source_id,
        revision=first.revision,
        fund=first.fund,
        award=first.award,
        order=first.order,
        person=first.person,
        category=first.category,
        work_date=first.work_date,
        amount_cents=sum(row.amount_cents for row in part),
        code=problem.code,
        message=problem.message,
    )
    suspense = fund_suspense()
    for row in part:
        row.posting_key = held_key(row.posting_key)
        row.fund, row.award = suspense, None
    return held


def _keys_renew(rows: Sequence[LedgerEntry]) -> None:
    """A key that was posted and taken back gets a suffix; one that still stands keeps the database's refusal."""
    sources = {(row.source_kind, row.source_id) for row in rows}
    known: set[str] = set()
    for kind, source_id in sources:
        of_source = LedgerEntry.objects.filter(source_kind=kind, source_id=source_id)
        known |= set(of_source.values_list("posting_key", flat=True))
    for row in rows:
        while reversal_key(row.posting_key) in known:
            row.posting_key = f"{row.posting_key}:again"


@dataclass(frozen=True)
class ChargeLine:
    """One line of what the desk is about to approve; `number` is the one that people see."""

    number: int
    charge: Charge


def charge_refuse(lines: Iterable[ChargeLine]) -> None:
    """For the desk, before anything is approved: refuse what an award's terms refuse at charge, naming line and field.
    What they let wait passes here, and is held when it is posted."""
    spent = Spent()
    errors = []
    for line in lines:
        problem = charge_check(line.charge, spent=spent)
        if problem is None:
            spent.add(line.charge)
        elif _refuses(line.charge.award, line.charge.work_date):
            errors.append(FieldError(f"lines.{problem.field}", problem.message, row=line.number, code=problem.code))
    if errors:
        raise Invalid("The award does not take all of the lines.", errors)


def _refuses(award: Award | None, on: date) -> bool:
    term = award_term(award, on) if award else None
    return term is not None and term.at_charge == "refuse"
