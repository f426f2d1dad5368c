"""A cost is split over prescriptions and funds so that the parts sum to it; what none may pay waits in suspense."""

from datetime import date
from decimal import Decimal

import pytest
from django.db.models import Sum

from orders import flow
from orders.common.errors import Invalid, WrongState
from orders.costs.models import LedgerEntry
from orders.costs.services.entries import Payer
from orders.costs.services.posting import order_fund
from tests import build
from tests.flow.world import WORK_DAY, drafted, statement, world_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return world_build()


@pytest.fixture
def order(world):
    return drafted(world)


def _closed(world, order, shares):
    order_fund(order=order, shares=shares, stamp=world.stamp())
    flow.issue_order(order=order, stamp=world.stamp())
    flow.close_order(order=order, statement=statement(order), stamp=world.stamp(world.lead, WORK_DAY))


def _by_fund(**where):
    rows = LedgerEntry.objects.filter(**where).values_list("fund__code").annotate(cents=Sum("amount_cents"))
    return dict(rows.order_by("fund__code"))


def test_it_splits_to_the_cent(world, order):
    other = build.FundFactory(code="STEW")
    _closed(world, order, [Payer(world.fund, None, 3_333), Payer(other, None, 6_667)])
    assert _by_fund(category="mileage") == {"OPS": 894, "STEW": 1_789}
    assert sum(_by_fund().values()) == LedgerEntry.objects.aggregate(total=Sum("amount_cents"))["total"]


def test_it_charges_an_award_within_its_period(world, order):
    award = build.AwardFactory(fund=world.fund, first_day=date(2026, 7, 1), last_day=date(2027, 9, 30))
    _closed(world, order, [Payer(world.fund, award, 10_000)])
    assert set(LedgerEntry.objects.values_list("award__code", flat=True)) == {award.code}


def test_it_holds_in_suspense_what_an_award_may_not_take(world, order):
    award = build.AwardFactory(fund=world.fund, first_day=date(2026, 1, 1), last_day=date(2026, 12, 31))
    _closed(world, order, [Payer(world.fund, award, 10_000)])
    assert set(_by_fund()) == {"SUSPENSE"}


def test_it_does_not_cost_a_volunteer(world, order):
    order.crew.memberships.last().person.__class__.objects.update(person_type="volunteer")
    _closed(world, order, [Payer(world.fund, None, 10_000)])
    labor = LedgerEntry.objects.filter(category="labor")
    assert labor.aggregate(cents=Sum("amount_cents"), minutes=Sum("quantity")) == {"cents": 0, "minutes": 900}


def test_it_falls_back_on_the_roles_standard_rate(world, order):
    person = order.crew.memberships.order_by("id").last().person
    person.pay_rates.all().delete()
    _closed(world, order, [Payer(world.fund, None, 10_000)])
    row = LedgerEntry.objects.get(person=person)
    assert (row.amount_cents, row.rate_origin, row.rate_e4) == (12_000, "standard", 240_000)


def test_it_copies_the_dimensions_so_that_a_rename_changes_no_history(world, order):
    _closed(world, order, [Payer(world.fund, None, 10_000)])
    world.patch.__class__.objects.filter(pk=world.patch.pk).update(code="NEW")
    assert set(LedgerEntry.objects.values_list("patch_code", flat=True)) == {"H-01"}


def test_it_posts_in_the_month_of_the_close_and_keeps_the_day_of_work(world, order):
    _closed(world, order, [Payer(world.fund, None, 10_000)])
    row = LedgerEntry.objects.order_by("id")[0]
    assert (row.posting_month, row.work_date) == (date(2027, 2, 1), order.first_day)


@pytest.mark.parametrize("shares", [[5_000], [6_000, 6_000], []])
def test_it_wants_shares_that_make_the_whole(world, order, shares):
    funds = [build.FundFactory() for _ in shares]
    wanted = [Payer(fund, None, share) for fund, share in zip(funds, shares, strict=True)]
    with pytest.raises(Invalid):
        order_fund(order=order, shares=wanted, stamp=world.stamp())


def test_it_fixes_the_funding_when_the_order_is_issued(world, order):
    flow.issue_order(order=order, stamp=world.stamp())
    with pytest.raises(WrongState):
        order_fund(order=order, shares=[Payer(world.fund, None, 10_000)], stamp=world.stamp())


def test_it_refuses_an_award_of_another_fund(world, order):
    award = build.AwardFactory(fund=build.FundFactory())
    with pytest.raises(Invalid):
        order_fund(order=order, shares=[Payer(world.fund, award, 10_000)], stamp=world.stamp())


def test_it_does_not_issue_what_nobody_pays(world, order):
    order.funding.all().delete()
    with pytest.raises(Invalid, match="which fund"):
        flow.issue_order(order=order, stamp=world.stamp())
    order.refresh_from_db()
    assert order.state == "draft"


def test_it_costs_equipment_by_the_crews_time(world, order):
    build.PriceFactory(kind="equipment", code="hand-pull", unit="hour", from_day=date(2026, 1, 1), price_e4=40_000)
    _closed(world, order, [Payer(world.fund, None, 10_000)])
    row = LedgerEntry.objects.get(category="equipment")
    assert (row.quantity, row.amount_cents) == (300, 2_000)
    assert Decimal(row.rate_e4) / 10_000 == 4
