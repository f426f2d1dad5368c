"""Bills: their lines sum to them, they stand once, and what they post can be paid and taken back."""

from datetime import date
from decimal import Decimal

import pytest
from django.db.models import Q, Sum

from orders.common.errors import Invalid, WrongState
from orders.costs.models import HeldCharge, LedgerEntry
from orders.costs.services.bills import LineBilled, bill_add, bill_approve, bill_pay, bill_void
from orders.costs.services.stock import stock_proof
from orders.costs.services.stocking import lot_receive_posted
from tests import build

pytestmark = pytest.mark.django_db
ON = date(2027, 2, 12)
STAMP = build.stamp()
BECAUSE = build.stamp(reason="Wrong vendor")


@pytest.fixture(autouse=True)
def suspense():
    return build.FundFactory(code="SUSPENSE", is_suspense=True)


@pytest.fixture
def fund():
    return build.FundFactory(budget_cents=None)


def added(*lines: LineBilled, vendor=None, number="B-1", total=None, worked_on=ON):
    return bill_add(
        vendor=vendor or build.VendorFactory(),
        number=number,
        billed_on=ON,
        worked_on=worked_on,
        total_cents=sum(line.amount_cents for line in lines) if total is None else total,
        lines=lines,
        stamp=STAMP,
    )


def balance(account: str, **where) -> int:
    sums = LedgerEntry.objects.filter(**where).aggregate(
        came=Sum("amount_cents", filter=Q(debit=account)), went=Sum("amount_cents", filter=Q(credit=account))
    )
    return (sums["came"] or 0) - (sums["went"] or 0)


def work(fund, cents=50_000, **more):
    return LineBilled("contract", "Clearing by hand", cents, fund, **more)


def test_it_refuses_lines_that_do_not_sum_to_the_total(fund):
    with pytest.raises(Invalid) as refused:
        added(work(fund), total=50_001)
    assert [error.field for error in refused.value.errors] == ["total_cents"]


def test_it_refuses_the_same_number_of_the_same_vendor(fund):
    vendor = build.VendorFactory()
    added(work(fund), vendor=vendor)
    with pytest.raises(Invalid) as refused:
        added(work(fund), vendor=vendor)
    assert [error.field for error in refused.value.errors] == ["number"]


def test_it_takes_the_number_again_once_the_first_is_void(fund):
    vendor = build.VendorFactory()
    bill_void(bill=added(work(fund), vendor=vendor), posted_on=ON, stamp=BECAUSE)
    assert added(work(fund), vendor=vendor).state == "draft"


def test_it_posts_the_cost_on_the_day_of_the_work(fund):
    bill_approve(bill=added(work(fund), worked_on=date(2027, 1, 20)), posted_on=ON, stamp=STAMP)
    row = LedgerEntry.objects.get()
    assert (row.book, row.debit, row.credit) == ("cost", "cost-contract", "clear-payables")
    assert (row.work_date, row.posting_month, row.fund) == (date(2027, 1, 20), date(2027, 2, 1), fund)


def test_it_carries_the_order_that_the_line_names(fund):
    order = build.WorkOrderFactory()
    bill_approve(bill=added(work(fund, work_order=order)), posted_on=ON, stamp=STAMP)
    row = LedgerEntry.objects.get()
    assert (row.order_number, row.site_code) == (order.number, order.site.code)


def test_it_is_settled_by_its_payment(fund):
    bill = bill_approve(bill=added(work(fund)), posted_on=ON, stamp=STAMP)
    bill_pay(bill=bill, paid_on=ON, posted_on=ON, stamp=STAMP)
    assert balance("clear-payables") == 0
    assert balance("fund", fund=fund) == -50_000


def test_it_leaves_nothing_when_it_is_void(fund):
    bill = bill_approve(bill=added(work(fund)), posted_on=ON, stamp=STAMP)
    bill_pay(bill=bill, paid_on=ON, posted_on=ON, stamp=STAMP)
    bill_void(bill=bill, posted_on=ON, stamp=BECAUSE)
    assert balance("clear-payables") == balance("fund") == balance("cost-contract") == 0


def test_it_is_paid_once(fund):
    bill = bill_approve(bill=added(work(fund)), posted_on=ON, stamp=STAMP)
    bill_pay(bill=bill, paid_on=ON, posted_on=ON, stamp=STAMP)
    with pytest.raises(WrongState):
        bill_pay(bill=bill, paid_on=ON, posted_on=ON, stamp=STAMP)


def received(cents_a_liter=2_000):
    return lot_receive_posted(
        product=build.ProductFactory(),
        lot_number="L-1",
        amount=Decimal(10),
        unit="L",
        price_e4=cents_a_liter * 100,
        received_on=ON,
        posted_on=ON,
        stamp=STAMP,
    )


def stock(fund, lot, cents):
    return LineBilled("material", "Herbicide", cents, fund, lot=lot)


def test_it_names_who_pays_for_a_lot_and_is_no_cost(fund):
    bill = bill_approve(bill=added(stock(fund, received(), 20_000)), posted_on=ON, stamp=STAMP)
    bill_pay(bill=bill, paid_on=ON, posted_on=ON, stamp=STAMP)
    assert not LedgerEntry.objects.filter(book="cost").exists()
    assert balance("clear-stock", fund=fund) == balance("clear-stock") == 20_000
    assert balance("clear-payables", fund=fund) == balance("clear-payables", fund__is_suspense=True) == 0
    assert stock_proof() == []


def test_it_posts_what_a_lot_is_billed_beyond_its_price(fund):
    bill_approve(bill=added(stock(fund, received(), 21_500)), posted_on=ON, stamp=STAMP)
    assert LedgerEntry.objects.get(book="cost").amount_cents == 1_500
    assert balance("clear-payables") == -21_500


def test_it_names_a_lot_once_over_two_lines(fund):
    lot = received()
    bill_approve(bill=added(stock(fund, lot, 15_000), stock(fund, lot, 15_000)), posted_on=ON, stamp=STAMP)
    assert LedgerEntry.objects.get(book="cost").amount_cents == 10_000
    assert stock_proof() == []


def test_it_pays_for_a_lot_that_nobody_else_pays(suspense):
    bill = bill_approve(bill=added(stock(suspense, received(), 20_000)), posted_on=ON, stamp=STAMP)
    bill_pay(bill=bill, paid_on=ON, posted_on=ON, stamp=STAMP)
    assert balance("clear-payables") == 0
    assert stock_proof() == []


def test_it_gives_stock_back_to_suspense_when_it_is_void(fund):
    bill = bill_approve(bill=added(stock(fund, received(), 20_000)), posted_on=ON, stamp=STAMP)
    bill_void(bill=bill, posted_on=ON, stamp=BECAUSE)
    assert balance("clear-stock", fund__is_suspense=True) == 20_000
    assert stock_proof() == []


def test_it_waits_with_what_its_award_may_not_take():
    award = build.AwardFactory(last_day=date(2026, 12, 31))
    bill = bill_approve(bill=added(work(award.fund, award=award)), posted_on=ON, stamp=STAMP)
    assert HeldCharge.objects.get().code == "outside-period"
    with pytest.raises(WrongState, match="waits for finance"):
        bill_pay(bill=bill, paid_on=ON, posted_on=ON, stamp=STAMP)
