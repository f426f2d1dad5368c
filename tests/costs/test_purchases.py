"""Purchase orders commit by line; bills take them down; closing or voiding lets go of the rest."""

from datetime import date

import pytest
from django.db.models import Sum
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from orders.common.errors import Invalid, VersionMismatch, WrongState
from orders.costs.models import Bill, Commitment, PurchaseOrder
from orders.costs.services.bills import LineBilled, bill_add, bill_approve, bill_void
from orders.costs.services.purchases import (
    LineAsked,
    purchase_approve,
    purchase_close,
    purchase_draft,
    purchase_void,
)
from tests import build

pytestmark = pytest.mark.django_db
ON = date(2027, 2, 12)
STAMP = build.stamp()
BECAUSE = build.stamp(reason="Entered twice")


@pytest.fixture(autouse=True)
def suspense():
    return build.FundFactory(code="SUSPENSE", is_suspense=True)


def drafted(*cents: int, **more) -> PurchaseOrder:
    fund = build.FundFactory(budget_cents=None)
    lines = [LineAsked("contract", "Clearing by hand", amount, fund, **more) for amount in cents]
    return purchase_draft(vendor=build.VendorFactory(), ordered_on=ON, lines=lines, stamp=STAMP)


def approved(*cents: int, **more) -> PurchaseOrder:
    return purchase_approve(purchase=drafted(*cents, **more), posted_on=ON, stamp=STAMP)


def billed(purchase: PurchaseOrder, cents: int, number: str = "B-1") -> Bill:
    line = purchase.lines.get(number=1)
    told = LineBilled("contract", "Clearing by hand", cents, line.fund, purchase_line=line)
    bill = bill_add(
        vendor=purchase.vendor,
        number=number,
        billed_on=ON,
        worked_on=ON,
        total_cents=cents,
        lines=[told],
        purchase_order=purchase,
        stamp=STAMP,
    )
    return bill_approve(bill=bill, posted_on=ON, stamp=STAMP)


def committed() -> int:
    return Commitment.objects.aggregate(cents=Sum("amount_cents"))["cents"] or 0


def test_it_takes_the_next_number():
    assert [drafted(100).number, drafted(100).number] == [1, 2]


def test_it_commits_nothing_while_it_is_a_draft():
    drafted(10_000)
    assert committed() == 0


def test_it_commits_each_line_at_approval():
    approved(10_000, 2_500)
    assert committed() == 12_500


def test_it_is_approved_once():
    purchase = approved(10_000)
    with pytest.raises(WrongState):
        purchase_approve(purchase=purchase, posted_on=ON, stamp=STAMP)


def test_it_refuses_a_version_that_is_not_the_newest():
    purchase = drafted(10_000)
    with pytest.raises(VersionMismatch):
        purchase_approve(purchase=purchase, posted_on=ON, stamp=STAMP, expected=purchase.version + 1)


def test_it_is_taken_down_by_a_bill():
    billed(approved(10_000), 4_000)
    assert committed() == 6_000


def test_it_is_not_taken_below_nothing():
    billed(approved(10_000), 14_000)
    assert committed() == 0


def test_it_is_committed_again_when_its_bill_is_void():
    bill = billed(approved(10_000), 4_000)
    bill_void(bill=bill, posted_on=ON, stamp=BECAUSE)
    assert committed() == 10_000


def test_it_lets_go_of_the_rest_when_it_is_closed():
    purchase = approved(10_000)
    billed(purchase, 4_000)
    purchase_close(purchase=purchase, posted_on=ON, stamp=STAMP)
    assert committed() == 0


def test_it_cannot_be_void_while_a_bill_stands():
    purchase = approved(10_000)
    billed(purchase, 4_000)
    with pytest.raises(WrongState, match="bills"):
        purchase_void(purchase=purchase, posted_on=ON, stamp=BECAUSE)


def test_it_names_the_line_whose_award_is_paid_through_another_fund():
    with pytest.raises(Invalid) as refused:
        drafted(10_000, award=build.AwardFactory())
    assert [(error.field, error.row) for error in refused.value.errors] == [("lines.award", 1)]


def test_nothing_more_is_bought_of_a_product_that_is_out_of_use():
    product, fund = build.ProductFactory(name="Ketterline", is_active=False), build.FundFactory()
    lines = [LineAsked("material", "Jugs", 100, fund, product=row) for row in (build.ProductFactory(), product)]
    with pytest.raises(Invalid) as refused:
        purchase_draft(vendor=build.VendorFactory(), ordered_on=ON, lines=lines, stamp=STAMP)
    (error,) = refused.value.errors
    assert (error.field, error.row, error.message) == ("lines.product", 2, "Nothing more is bought of Ketterline.")


def test_it_refuses_labor():
    with pytest.raises(Invalid):
        purchase_draft(
            vendor=build.VendorFactory(),
            ordered_on=ON,
            lines=[LineAsked("labor", "Crew", 100, build.FundFactory())],
            stamp=STAMP,
        )


def test_it_refuses_what_the_award_refuses_at_charge():
    award = build.AwardFactory(last_day=date(2026, 12, 31))
    build.AwardTermFactory(award=award, from_day=award.first_day, at_charge="refuse")
    lines = [LineAsked("contract", "Clearing", 100, award.fund, award)]
    purchase = purchase_draft(vendor=build.VendorFactory(), ordered_on=ON, lines=lines, stamp=STAMP)
    with pytest.raises(Invalid, match="does not take"):
        purchase_approve(purchase=purchase, posted_on=ON, stamp=STAMP)
    purchase.refresh_from_db()
    assert (purchase.state, committed()) == ("draft", 0)


class TestCommitments(TestCase):
    @given(
        lines=st.lists(st.integers(min_value=1, max_value=9_999), min_size=1, max_size=3),
        bills=st.lists(st.tuples(st.integers(min_value=1, max_value=12_000), st.booleans()), max_size=5),
        voids=st.booleans(),
    )
    @settings(max_examples=30, deadline=None)
    def test_it_never_goes_below_zero_and_ends_at_zero(self, lines, bills, voids):
        purchase = approved(*lines)
        standing = []
        for number, (cents, takes_back) in enumerate(bills):
            standing.append(billed(purchase, cents, f"B-{number}"))
            assert committed() >= 0
            if takes_back:
                bill_void(bill=standing.pop(0), posted_on=ON, stamp=BECAUSE)
            assert 0 <= committed() <= sum(lines)
        if voids:
            for bill in standing:
                bill_void(bill=bill, posted_on=ON, stamp=BECAUSE)
            purchase_void(purchase=purchase, posted_on=ON, stamp=BECAUSE)
        else:
            purchase_close(purchase=purchase, posted_on=ON, stamp=STAMP)
            for bill in standing:
                bill_void(bill=bill, posted_on=ON, stamp=BECAUSE)
        assert committed() == 0
