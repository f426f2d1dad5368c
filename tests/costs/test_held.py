"""Settling what waits: the rows move to the payer chosen, and what its funder forbids stays forbidden."""

from datetime import date
from uuid import uuid4

import pytest

from orders import corrections, flow
from orders.common.errors import Invalid, VersionMismatch, WrongState
from orders.costs.models import HeldCharge, LedgerEntry
from orders.costs.services.entries import Payer, entries_reverse
from orders.costs.services.held import held_charge_settle, held_charges_settle
from orders.costs.services.posting import order_fund
from tests import build
from tests.costs.charges import TODAY, charged, charged_to, spent, standing, told
from tests.flow.world import WORK_DAY, drafted, statement, world_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def suspense():
    return build.FundFactory(code="SUSPENSE", is_suspense=True, budget_cents=None)


@pytest.fixture
def award(suspense):
    return build.AwardFactory(ceiling_cents=100_000)


def settle(held, fund, award=None, reason="as agreed", **more):
    return held_charge_settle(held=held, fund=fund, award=award, posted_on=TODAY, stamp=told(reason), **more)


def test_it_moves_the_rows_to_the_payer_chosen(award, suspense):
    source, other = uuid4(), build.FundFactory()
    charged(award.fund, award, 100_001, source=source)
    held = settle(HeldCharge.objects.get(), other)
    (row,) = standing(source)
    assert (row.fund, row.amount_cents, row.reason, spent(fund=suspense)) == (other, 100_001, "as agreed", 0)
    assert (held.state, held.settled_fund, held.reason) == ("settled", other, "as agreed")


def test_it_leaves_the_other_part_of_the_same_cost_waiting(award, suspense):
    source, second = uuid4(), build.AwardFactory(ceiling_cents=0)
    charged_to([Payer(award.fund, award, 4_000), Payer(second.fund, second, 6_000)], 1_000_000, source=source)
    settle(HeldCharge.objects.get(award=second), build.FundFactory(code="ELSE"))
    assert [(row.fund.code, row.amount_cents) for row in standing(source)] == [
        ("SUSPENSE", 400_000),
        ("ELSE", 600_000),
    ]


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"last_day": date(2027, 1, 31)}, "outside-period"),
        ({"ceiling_cents": 50}, "over-ceiling"),
        ({"terms": ["labor"]}, "not-allowed"),
    ],
)
def test_it_lets_nobody_pass_what_the_funder_forbids(award, facts, code):
    charged(award.fund, award, 100_001)
    terms = facts.pop("terms", [])
    other = build.AwardFactory(**{"ceiling_cents": 900_000, **facts})
    build.AwardTermFactory(award=other, allowed_categories=terms)
    with pytest.raises(Invalid) as refusal:
        settle(HeldCharge.objects.get(), other.fund, other)
    assert [(error.field, error.code) for error in refusal.value.errors] == [("award", code)]
    assert HeldCharge.objects.get().state == "waiting"


def test_it_passes_the_programs_own_budget_with_the_reason(award):
    charged(award.fund, award, 100_001)
    tight = build.FundFactory(budget_cents=10)
    settle(HeldCharge.objects.get(), tight, reason="The board raised it on Monday")
    assert spent(fund=tight) == 100_001


@pytest.mark.parametrize("reason", ["", "  "])
def test_it_wants_a_reason(award, reason):
    charged(award.fund, award, 100_001)
    with pytest.raises(Invalid) as refusal:
        settle(HeldCharge.objects.get(), build.FundFactory(), reason=reason)
    assert [error.field for error in refusal.value.errors] == ["reason"]


def test_it_settles_no_charge_into_suspense_or_another_funds_award(award, suspense):
    charged(award.fund, award, 100_001)
    with pytest.raises(Invalid, match="not settled"):
        settle(HeldCharge.objects.get(), suspense)
    with pytest.raises(Invalid, match="not settled"):
        settle(HeldCharge.objects.get(), build.FundFactory(), award)


def test_it_settles_once(award):
    charged(award.fund, award, 100_001)
    held = HeldCharge.objects.get()
    stale = HeldCharge.objects.get()
    settle(held, build.FundFactory())
    with pytest.raises(WrongState):
        settle(held, build.FundFactory())
    with pytest.raises((VersionMismatch, Invalid)):
        settle(stale, build.FundFactory())


def test_it_settles_several_or_none(award):
    for _ in range(2):
        charged(award.fund, award, 100_001)
    short = build.AwardFactory(ceiling_cents=150_000)
    with pytest.raises(Invalid):
        held_charges_settle(held=HeldCharge.objects.all(), fund=short.fund, award=short, posted_on=TODAY, stamp=told())
    assert (spent(award=short), set(HeldCharge.objects.values_list("state", flat=True))) == (0, {"waiting"})


def test_it_takes_back_what_was_settled_with_its_source(award):
    source, other = uuid4(), build.FundFactory()
    charged(award.fund, award, 100_001, source=source)
    settle(HeldCharge.objects.get(), other)
    entries_reverse(standing(source), posted_on=TODAY, stamp=told())
    assert (spent(), HeldCharge.objects.get().state) == (0, "settled")


def test_it_holds_anew_what_an_amendment_posts_anew():
    world = world_build()
    order = drafted(world)
    ended = build.AwardFactory(fund=world.fund, first_day=date(2026, 1, 1), last_day=date(2026, 12, 31))
    order_fund(order=order, shares=[Payer(world.fund, ended, 10_000)], stamp=world.stamp())
    flow.issue_order(order=order, stamp=world.stamp())
    flow.close_order(order=order, statement=statement(order), stamp=world.stamp(world.lead, WORK_DAY))
    order.refresh_from_db()
    first = set(HeldCharge.objects.values_list("pk", flat=True))
    assert first
    settle(HeldCharge.objects.filter(category="labor")[0], world.fund)
    again = world.stamp(world.coordinator, WORK_DAY, "Counted wrong")
    corrections.amend_close_out(order=order, statement=statement(order, minutes=200), stamp=again)
    assert set(HeldCharge.objects.filter(pk__in=first).values_list("state", flat=True)) == {"gone", "settled"}
    assert set(HeldCharge.objects.exclude(pk__in=first).values_list("state", flat=True)) == {"waiting"}
    rows = LedgerEntry.objects.filter(reverses__isnull=True, reversed_by__isnull=True, book="cost")
    assert set(rows.values_list("fund__code", flat=True)) == {"SUSPENSE"}
