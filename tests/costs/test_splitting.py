"""An order's cost split anew over funds, after it was issued and after it was closed."""

from datetime import date

import pytest
from django.db.models import Sum

from orders import corrections, flow
from orders.common.errors import Invalid, WrongState
from orders.costs.models import Commitment, HeldCharge, LedgerEntry
from orders.costs.services.entries import Payer
from orders.costs.services.splitting import order_split_again
from tests import build
from tests.flow.world import WORK_DAY, drafted, statement, world_build

pytestmark = pytest.mark.django_db
DAY = date(2027, 2, 2)


@pytest.fixture
def world():
    return world_build()


@pytest.fixture
def order(world):
    order = drafted(world)
    flow.issue_order(order=order, stamp=world.stamp())
    return order


def closed(world, order):
    flow.close_order(order=order, statement=statement(order), stamp=world.stamp(world.lead, WORK_DAY))
    order.refresh_from_db()
    return order


def split(world, order, *shares, reason="The grant takes a part"):
    stamp = world.stamp(world.finance, WORK_DAY, reason)
    return order_split_again(order=order, shares=shares, posted_on=DAY, stamp=stamp)


def by_fund(model, **where):
    rows = model.objects.filter(**where).values_list("fund__code").annotate(cents=Sum("amount_cents"))
    return {code: cents for code, cents in rows.order_by("fund__code") if cents}


def test_it_moves_what_was_posted_to_the_cent(world, order):
    closed(world, order)
    before = by_fund(LedgerEntry)["OPS"]
    split(world, order, Payer(world.fund, None, 3_333), Payer(build.FundFactory(code="STEW"), None, 6_667))
    after = by_fund(LedgerEntry)
    assert (sum(after.values()), set(after)) == (before, {"OPS", "STEW"})
    assert by_fund(LedgerEntry, category="mileage") == {"OPS": 894, "STEW": 1_789}


def test_it_moves_what_was_committed(world, order):
    before = by_fund(Commitment)["OPS"]
    minutes = Commitment.objects.aggregate(minutes=Sum("minutes"))["minutes"]
    split(world, order, Payer(build.FundFactory(code="STEW"), None, 10_000))
    assert by_fund(Commitment) == {"STEW": before}
    assert Commitment.objects.aggregate(minutes=Sum("minutes"))["minutes"] == minutes


def test_it_may_be_said_back_and_forth(world, order):
    closed(world, order)
    before = by_fund(LedgerEntry), by_fund(Commitment)
    stew = build.FundFactory(code="STEW")
    for fund in (stew, world.fund, stew, world.fund):
        split(world, order, Payer(fund, None, 10_000))
    assert (by_fund(LedgerEntry), by_fund(Commitment)) == before


def test_it_holds_again_what_an_award_may_not_take(world, order):
    closed(world, order)
    award = build.AwardFactory(fund=world.fund, last_day=date(2026, 12, 31))
    total = sum(by_fund(LedgerEntry).values())
    for _ in range(2):
        split(world, order, Payer(world.fund, award, 10_000))
    assert by_fund(LedgerEntry) == {"SUSPENSE": total}
    waits = HeldCharge.objects.filter(state="waiting").aggregate(cents=Sum("amount_cents"))["cents"]
    assert waits == total


def test_it_lets_an_amendment_take_back_what_was_moved(world, order):
    closed(world, order)
    split(world, order, Payer(build.FundFactory(code="STEW"), None, 10_000))
    again = world.stamp(world.coordinator, WORK_DAY, "Counted wrong")
    corrections.amend_close_out(order=order, statement=statement(order, minutes=200), stamp=again)
    standing = LedgerEntry.objects.filter(reverses__isnull=True, reversed_by__isnull=True, category="labor")
    assert list(standing.values_list("revision", "quantity", "fund__code")) == [(2, 200, "STEW")] * 3


def test_it_takes_back_the_commitments_of_a_void_order_that_was_split_anew(world, order):
    split(world, order, Payer(build.FundFactory(code="STEW"), None, 10_000))
    corrections.void_order(order=order, stamp=world.stamp(reason="Burned over"))
    assert by_fund(Commitment) == {}


def test_it_moves_the_match_of_volunteers_with_the_cost(world, order):
    person = order.crew.memberships.last().person
    person.__class__.objects.filter(pk=person.pk).update(person_type="volunteer")
    build.MatchRateFactory(person_type="volunteer", role=person.role, from_day=date(2026, 1, 1))
    closed(world, order)
    before = by_fund(LedgerEntry, book="match")
    award, ended = build.AwardFactory(), build.AwardFactory(last_day=date(2026, 12, 31))
    split(world, order, Payer(award.fund, award, 5_000), Payer(ended.fund, ended, 5_000))
    after = LedgerEntry.objects.filter(book="match", reverses__isnull=True, reversed_by__isnull=True)
    assert before["OPS"] == sum(row.amount_cents for row in after) > 0
    assert set(after.values_list("award__code", flat=True)) == {award.code, None}


def test_it_wants_a_reason(world, order):
    with pytest.raises(Invalid) as refusal:
        split(world, order, Payer(world.fund, None, 10_000), reason=" ")
    assert [error.field for error in refusal.value.errors] == ["reason"]


def test_it_splits_no_draft(world):
    with pytest.raises(WrongState):
        split(world, drafted(world), Payer(world.fund, None, 10_000))


def test_it_wants_the_whole(world, order):
    with pytest.raises(Invalid):
        split(world, order, Payer(world.fund, None, 9_999))
    assert order.funding.get().share_e4 == 10_000
