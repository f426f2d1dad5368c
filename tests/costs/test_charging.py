"""The gate: a charge that its payer may not take waits in suspense, whole, and finance is told why."""

import json
from datetime import date
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from orders.common.errors import Invalid
from orders.common.models import Change
from orders.costs.models import HeldCharge, LedgerEntry
from orders.costs.services.charging import ChargeLine, charge_refuse, entries_post
from orders.costs.services.checks import Charge
from orders.costs.services.entries import Payer, entries_reverse
from tests import build
from tests.costs.charges import TODAY, charge_made, charged, charged_to, spent, told, waiting

pytestmark = pytest.mark.django_db


@pytest.fixture
def suspense():
    return build.FundFactory(code="SUSPENSE", is_suspense=True, budget_cents=None)


@pytest.fixture
def award(suspense):
    return build.AwardFactory(code="G-1", ceiling_cents=100_000)


def test_it_lets_an_award_take_what_it_may(award):
    (row,) = charged(award.fund, award, 40_000)
    assert (row.award, row.fund, HeldCharge.objects.count()) == (award, award.fund, 0)


def test_it_holds_what_lies_outside_the_period(award, suspense):
    (row,) = charged(award.fund, award, 40_000, on=date(2026, 6, 30))
    held = HeldCharge.objects.get()
    assert (row.fund, row.award, held.code) == (suspense, None, "outside-period")
    assert (held.fund, held.award, held.amount_cents, held.state) == (award.fund, award, 40_000, "waiting")


def test_it_holds_the_whole_part_that_would_pass_the_ceiling(award, suspense):
    charged(award.fund, award, 70_000)
    charged(award.fund, award, 30_001)
    assert (spent(award=award), spent(fund=suspense), waiting()) == (70_000, 30_001, [("over-ceiling", 30_001)])


def test_it_counts_what_the_same_posting_takes(award):
    payers = [Payer(award.fund, award, 10_000)]
    entries_post([*charge_made(payers, 60_000), *charge_made(payers, 60_000)], stamp=told())
    assert (spent(award=award), waiting()) == (60_000, [("over-ceiling", 60_000)])


def test_it_takes_again_what_was_taken_back(award):
    rows = charged(award.fund, award, 100_000)
    entries_reverse(rows, posted_on=TODAY, stamp=told())
    charged(award.fund, award, 100_000)
    assert (spent(award=award), waiting()) == (100_000, [])


def test_it_holds_a_category_that_the_terms_of_the_day_do_not_allow(award):
    build.AwardTermFactory(award=award, from_day=date(2026, 7, 1), allowed_categories=["labor"])
    build.AwardTermFactory(award=award, from_day=date(2027, 3, 1), allowed_categories=[])
    charged(award.fund, award, 10_000)
    charged(award.fund, award, 20_000, on=date(2027, 3, 1))
    assert waiting() == [("not-allowed", 10_000)]


@pytest.mark.parametrize(
    ("of", "held"),
    [
        ({}, True),
        ({"category": "contract"}, True),
        ({"category": "labor"}, False),
        ({"month": date(2027, 2, 1)}, True),
        ({"month": date(2027, 3, 1)}, False),
    ],
)
def test_it_holds_what_a_budget_has_no_room_for(suspense, of, held):
    budget = build.BudgetFactory(amount_cents=5_000, **of)
    charged(budget.fund, None, 5_001)
    assert waiting() == ([("over-budget", 5_001)] if held else [])


@pytest.mark.parametrize(("site", "held"), [("HILL", True), ("LAKE", False)])
def test_it_asks_the_budget_of_the_site(suspense, site, held):
    budget = build.BudgetFactory(amount_cents=5_000, site=build.SiteFactory(code="HILL"))
    charged(budget.fund, None, 5_001, site_code=site)
    assert bool(waiting()) is held


def test_it_asks_the_budget_of_the_award(suspense, award):
    build.BudgetFactory(fund=award.fund, award=award, amount_cents=5_000)
    charged(award.fund, None, 9_000)
    charged(award.fund, award, 9_000)
    assert waiting() == [("over-budget", 9_000)]


def test_it_holds_what_the_fund_has_no_budget_for(suspense):
    charged(build.FundFactory(budget_cents=5_000), None, 5_001)
    assert waiting() == [("over-fund-budget", 5_001)]


def test_it_splits_no_part_and_leaves_the_other_payers_theirs(award, suspense):
    other = build.FundFactory()
    charged_to([Payer(award.fund, award, 5_000), Payer(other, None, 5_000)], 300_001)
    assert (spent(fund=suspense), spent(fund=other)) == (150_001, 150_000)


def test_it_keeps_two_parts_of_one_cost_apart_that_both_wait(award, suspense):
    second = build.AwardFactory(code="G-2", ceiling_cents=0)
    charged_to([Payer(award.fund, award, 4_000), Payer(second.fund, second, 6_000)], 1_000_000)
    assert waiting() == [("over-ceiling", 400_000), ("over-ceiling", 600_000)]
    assert LedgerEntry.objects.filter(fund=suspense).count() == 2


def test_it_tells_that_nobody_pays(suspense):
    charged_to([Payer(suspense, None, 10_000)], 4_000)
    assert waiting() == [("nobody-pays", 4_000)]


def test_it_posts_nothing_twice(award):
    source = uuid4()
    charged(award.fund, award, 10, source=source)
    with pytest.raises(IntegrityError), transaction.atomic():
        charged(award.fund, award, 10, source=source)


def test_it_keeps_amounts_out_of_the_record(award):
    charged(award.fund, award, 987_654)
    told_change = Change.objects.get(verb="charge_hold")
    assert "987" not in json.dumps(told_change.after)


def test_it_lets_a_held_charge_go_with_its_source(award):
    rows = charged(award.fund, award, 100_001)
    entries_reverse(rows, posted_on=TODAY, stamp=told())
    assert (HeldCharge.objects.get().state, spent()) == ("gone", 0)


def line(award, **more):
    return ChargeLine(3, Charge(award.fund, award, "contract", TODAY, 100_001, **more))


def test_it_refuses_at_the_desk_where_the_terms_say_so(award):
    build.AwardTermFactory(award=award, at_charge="refuse")
    with pytest.raises(Invalid) as refusal:
        charge_refuse([line(award)])
    (error,) = refusal.value.errors
    assert (error.row, error.field, error.code) == (3, "lines.amount_cents", "over-ceiling")


def test_it_lets_the_desk_pass_what_may_wait(award):
    build.AwardTermFactory(award=award, at_charge="queue")
    charge_refuse([line(award)])
