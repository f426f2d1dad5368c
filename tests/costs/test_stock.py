"""Stock and its value: what comes, goes and is counted, in the ledger to the cent."""

from datetime import date
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.db.models import Q, Sum
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from orders.costs.models import FundingRule, FundingRuleShare, LedgerEntry, StockValue
from orders.costs.services.stock import stock_proof, stock_values_post
from orders.costs.services.stocking import lot_receive_posted, stock_move_posted
from orders.costs.stock_selectors import stock_on_hand
from orders.supplies.models import StockMovement
from orders.supplies.services import stock_move
from tests import build

pytestmark = pytest.mark.django_db
ON = date(2027, 2, 1)
STAMP = build.stamp()


@pytest.fixture(autouse=True)
def suspense():
    return build.FundFactory(code="SUSPENSE", is_suspense=True)


def received(product, number="L-1", liters="10", price_e4=200_000, on=ON):
    return lot_receive_posted(
        product=product,
        lot_number=number,
        amount=Decimal(liters),
        unit="L",
        price_e4=price_e4,
        received_on=on,
        posted_on=ON,
        stamp=STAMP,
    )


def moved(lot, kind, liters, reason="counted"):
    return stock_move_posted(
        lot=lot, kind=kind, amount=Decimal(liters), unit="L", on=ON, posted_on=ON, reason=reason, stamp=STAMP
    )


def balance() -> int:
    sums = LedgerEntry.objects.aggregate(
        came=Sum("amount_cents", filter=Q(debit="clear-stock")),
        went=Sum("amount_cents", filter=Q(credit="clear-stock")),
    )
    return (sums["came"] or 0) - (sums["went"] or 0)


def test_it_puts_a_receipt_into_stock_and_leaves_it_to_pay():
    received(build.ProductFactory())
    row = LedgerEntry.objects.get()
    assert (row.book, row.debit, row.credit, row.amount_cents) == ("clearing", "clear-stock", "clear-payables", 20_000)
    assert row.fund.is_suspense


def test_it_posts_a_write_off_as_a_cost():
    moved(received(build.ProductFactory()), "write_off", "2.5")
    row = LedgerEntry.objects.get(book="cost")
    assert (row.debit, row.credit, row.amount_cents) == ("cost-material", "clear-stock", 5_000)
    assert stock_proof() == []


def test_it_posts_what_a_count_finds_as_less_cost():
    moved(received(build.ProductFactory()), "count", "11")
    assert LedgerEntry.objects.get(book="cost").amount_cents == -2_000


def test_it_charges_losses_to_the_fund_of_the_rule_for_stock():
    fund = build.FundFactory(code="SHOP")
    rule = FundingRule.objects.create(name="Stock", from_day=date(2027, 1, 1), work_code="stock")
    FundingRuleShare.objects.create(rule=rule, fund=fund, share_e4=10_000)
    moved(received(build.ProductFactory()), "write_off", "1")
    assert LedgerEntry.objects.get(book="cost").fund == fund


def test_it_takes_the_oldest_price_first():
    build.StockPolicyFactory(valuation="fifo")
    product = build.ProductFactory()
    received(product, "OLD", "1", 100_000)
    new = received(product, "NEW", "5", 300_000)
    moved(new, "write_off", "2")
    assert LedgerEntry.objects.get(book="cost").amount_cents == 1_000 + 3_000


def test_it_takes_at_the_moving_average():
    build.StockPolicyFactory(valuation="average")
    product = build.ProductFactory()
    received(product, "OLD", "1", 100_000)
    moved(received(product, "NEW", "3", 300_000), "write_off", "2")
    assert LedgerEntry.objects.get(book="cost").amount_cents == 5_000


def test_it_values_by_the_policy_of_the_day():
    build.StockPolicyFactory(valuation="fifo", from_day=date(2027, 3, 1))
    product = build.ProductFactory()
    received(product, "OLD", "1", 100_000)
    moved(received(product, "NEW", "5", 300_000), "write_off", "1")
    assert StockValue.objects.latest("id").valuation == "lot"


def test_it_values_what_moved_before_stock_had_a_value():
    lot = build.StockLotFactory()
    stock_move(lot=lot, kind="write_off", amount=Decimal(1), unit="L", on=ON, reason="frozen", stamp=STAMP)
    assert stock_proof() == ["2 stock movements have no value yet."]
    stock_values_post(posted_on=ON, stamp=STAMP)
    assert stock_proof() == []
    assert balance() == 9 * 2_200  # 9 L of 10, at $22 a liter


def test_it_values_nothing_twice():
    received(build.ProductFactory())
    assert stock_values_post(posted_on=ON, stamp=STAMP) == []


def test_it_says_when_stock_and_its_account_differ():
    received(build.ProductFactory())
    row = LedgerEntry.objects.get()
    build.LedgerEntryFactory(debit="clear-stock", credit="clear-payables", amount_cents=7, fund=row.fund)
    assert stock_proof() == ["The account of stock holds 20007 cents, what is on hand is worth 20000 cents."]


def test_it_tells_what_is_on_hand_by_lot():
    product = build.ProductFactory()
    received(product, "A", "2")
    received(product, "B", "1", 300_000)
    told = stock_on_hand(build.UserFactory(roles=["finance"]), ON)
    assert [(row.lot.lot_number, row.value_cents) for row in told.rows[0].lots] == [("A", 4_000), ("B", 3_000)]
    assert told.value_cents == 7_000


STEPS = st.lists(
    st.tuples(
        st.sampled_from(["receipt", "write_off", "use", "return", "count"]),
        st.integers(min_value=0, max_value=2),
        st.integers(min_value=1, max_value=5_000),
    ),
    max_size=14,
)


class TestConserves(TestCase):
    @given(
        steps=STEPS,
        prices=st.lists(st.integers(min_value=1, max_value=999_999), min_size=3, max_size=3),
        policies=st.lists(st.sampled_from(["lot", "fifo", "average"]), min_size=1, max_size=3),
    )
    @settings(max_examples=60, deadline=None)
    def test_it_loses_no_cent(self, steps, prices, policies):
        product = build.ProductFactory()
        lots = [build.StockLotFactory(product=product, price_e4=price, received_ul=0) for price in prices]
        for number, policy in enumerate(policies):
            build.StockPolicyFactory(valuation=policy, from_day=date(2027, 1, 1 + 10 * number))
        takings: list[StockMovement] = []
        for number, (kind, which, milliliters) in enumerate(steps):
            day = date(2027, 1, 1 + min(30, 30 * number // max(1, len(steps))))
            _step(lots[which], kind, milliliters, day, takings)
            assert stock_proof() == []
        for taken in takings:
            _give_back(taken)
        for lot in lots:
            stock_move(lot=lot, kind="count", amount=Decimal(0), unit="mL", on=ON, reason="sold", stamp=STAMP)
        stock_values_post(posted_on=ON, stamp=STAMP)
        assert stock_proof() == []
        assert balance() == StockValue.objects.aggregate(cents=Sum("value_cents"))["cents"] or 0


def _step(lot, kind, milliliters, day, takings):
    if kind == "return":
        if takings:
            _give_back(takings.pop())
        return
    source: dict[str, Any] = {"source_kind": "mix_day_end", "source_id": uuid4()} if kind == "write_off" else {}
    moved = stock_move(
        lot=lot, kind=kind, amount=Decimal(milliliters), unit="mL", on=day, reason="said", stamp=STAMP, **source
    )
    if source:
        takings.append(moved)
    stock_values_post(posted_on=ON, stamp=STAMP)


def _give_back(taken):
    stock_move(
        lot=taken.lot,
        kind="return",
        amount=taken.entered_value,
        unit=taken.entered_unit,
        on=taken.on,
        source_kind=taken.source_kind,
        source_id=taken.source_id,
        reason="said",
        stamp=STAMP,
    )
    stock_values_post(posted_on=ON, stamp=STAMP)
    back, away = StockValue.objects.latest("id"), StockValue.objects.get(movement=taken)
    assert back.value_cents == -away.value_cents
