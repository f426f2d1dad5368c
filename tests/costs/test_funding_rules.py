"""Rules of who pays: which of several counts, and what may be said in one."""

import json
from datetime import date

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.common.models import Change
from orders.costs.models import FundingRule
from orders.costs.services.charging import payers_by_rule
from orders.costs.services.entries import Payer
from orders.costs.services.funding import funding_rule_add, funding_rule_edit, funding_rule_remove
from orders.costs.services.posting import order_fund_by_rule
from tests import build
from tests.flow.world import drafted, world_build

pytestmark = pytest.mark.django_db
DAY = date(2027, 2, 1)


def ruled(code, **of):
    fund = build.FundFactory(code=code)
    return build.FundingRuleShareFactory(rule=build.FundingRuleFactory(**of), fund=fund)


def paying(**asked):
    return [payer.fund.code for payer in payers_by_rule(on=DAY, **asked)]


def test_it_goes_by_the_rule_that_says_most():
    site = build.SiteFactory()
    ruled("ALL")
    ruled("SITE", site=site)
    ruled("BOTH", site=site, method_code="mow")
    ruled("SHOP", work_code="shop")
    assert paying(site=site, method_code="mow") == ["BOTH"]
    assert paying(site=site, method_code="cut") == ["SITE"]
    assert paying(site=build.SiteFactory(), method_code="mow") == ["ALL"]
    assert (paying(work_code="shop"), paying(work_code="leave")) == (["SHOP"], ["ALL"])


def test_it_takes_the_newest_of_equals_and_none_of_another_day():
    ruled("OLD", from_day=date(2026, 1, 1))
    ruled("NEW", from_day=date(2027, 1, 1))
    ruled("COMING", from_day=date(2027, 2, 2))
    ruled("GONE", from_day=date(2027, 1, 15), last_day=date(2027, 1, 31))
    assert paying() == ["NEW"]


def test_it_leaves_to_suspense_what_no_rule_names():
    build.FundFactory(code="SUSPENSE", is_suspense=True)
    ruled("SHOP", work_code="shop")
    assert paying(work_code="leave") == ["SUSPENSE"]


def test_it_adds_a_rule_with_its_shares(stamp):
    award = build.AwardFactory()
    shares = [Payer(award.fund, award, 2_500), Payer(build.FundFactory(code="OPS"), None, 7_500)]
    rule = funding_rule_add(name="Shop", from_day=DAY, work_code="shop", shares=shares, stamp=stamp)
    assert [row.share_e4 for row in rule.shares.all()] == [2_500, 7_500]
    told = Change.objects.get(verb="funding_rule_add").after or {}
    assert ["OPS", "", 7_500] in told["shares"]


def _wrong(kind):
    fund, suspense = build.FundFactory(), build.FundFactory(is_suspense=True)
    award = build.AwardFactory()
    return {
        "sum": ({}, [Payer(fund, None, 9_999)], "shares"),
        "none": ({}, [], "shares"),
        "twice": ({}, [Payer(fund, None, 5_000), Payer(fund, None, 5_000)], "shares"),
        "award": ({}, [Payer(fund, award, 10_000)], "shares.award"),
        "suspense": ({}, [Payer(suspense, None, 10_000)], "shares.fund"),
        "order": ({"site": build.SiteFactory()}, [Payer(fund, None, 10_000)], "work_code"),
        "days": ({"last_day": date(2026, 1, 1)}, [Payer(fund, None, 10_000)], "last_day"),
    }[kind]


@pytest.mark.parametrize("kind", ["sum", "none", "twice", "award", "suspense", "order", "days"])
def test_it_refuses_a_rule_that_is_none(stamp, kind):
    of, shares, field = _wrong(kind)
    with pytest.raises(Invalid) as refusal:
        funding_rule_add(**{"name": "R", "from_day": DAY, "work_code": "shop", **of}, shares=shares, stamp=stamp)
    assert field in [error.field for error in refusal.value.errors]
    assert not FundingRule.objects.exists()


def test_it_changes_who_pays(stamp):
    rule = ruled("OLD").rule
    shares = [Payer(build.FundFactory(code="NEW"), None, 10_000)]
    funding_rule_edit(rule=rule, values={"name": "Else"}, shares=shares, expected=rule.version, stamp=stamp)
    change = Change.objects.get(verb="funding_rule_edit")
    assert (paying(), "OLD" in json.dumps(change.before), "NEW" in json.dumps(change.after)) == (["NEW"], True, True)


def test_it_changes_nothing_on_an_old_version(stamp):
    rule = ruled("OLD").rule
    with pytest.raises(VersionMismatch):
        funding_rule_edit(rule=rule, values={"name": "Else"}, expected=rule.version + 1, stamp=stamp)
    with pytest.raises(VersionMismatch):
        funding_rule_remove(rule=rule, expected=rule.version + 1, stamp=stamp)
    assert FundingRule.objects.get().name == rule.name


def test_it_removes_a_rule(stamp):
    build.FundFactory(code="SUSPENSE", is_suspense=True)
    rule = ruled("OLD").rule
    funding_rule_remove(rule=rule, expected=rule.version, stamp=stamp)
    assert paying() == ["SUSPENSE"]


def test_it_funds_a_draft_order():
    world = world_build()
    order = drafted(world)
    with pytest.raises(Invalid, match="No funding rule"):
        order_fund_by_rule(order=order, stamp=world.stamp())
    ruled("SITE", site=order.site)
    ruled("METHOD", site=order.site, method_code="hand-pull")
    (row,) = order_fund_by_rule(order=order, stamp=world.stamp())
    assert row.fund.code == "METHOD"
