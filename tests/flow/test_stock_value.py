"""What a close-out uses costs what it took from stock, and an amendment gives back exactly that."""

from dataclasses import replace
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db.models import Sum

from orders import corrections, flow
from orders.costs.models import LedgerEntry, StockValue
from orders.costs.services.stock import stock_proof, stock_values_post
from orders.workorders.selectors import order_visits
from orders.workorders.statements import MaterialStated
from tests import build
from tests.flow.world import WORK_DAY, issued, statement, world_build

pytestmark = pytest.mark.django_db
OLD, NEW = 100_000, 300_000


@pytest.fixture
def world():
    return world_build()


@pytest.fixture
def lots():
    product = build.ProductFactory()
    return [build.StockLotFactory(product=product, price_e4=price, received_ul=1_000_000) for price in (OLD, NEW)]


def using(order, lot, liters="0.4"):
    visit = order_visits(order)[0]
    used = MaterialStated(visit.public_id, lot.public_id, Decimal(liters), "L")
    return replace(statement(order), materials=(used,))


def closed(world, lot):
    order = issued(world)
    flow.start_order(order=order, stamp=world.stamp(world.lead, WORK_DAY))
    flow.close_order(order=order, statement=using(order, lot), stamp=world.stamp(world.lead, WORK_DAY))
    return order


def material() -> int:
    rows = LedgerEntry.objects.filter(category="material", book="cost")
    return rows.aggregate(cents=Sum("amount_cents"))["cents"] or 0


def test_it_costs_the_price_of_its_lot(world, lots):
    closed(world, lots[1])
    assert material() == 1_200
    assert stock_proof() == []


@pytest.mark.parametrize(("valuation", "cents"), [("fifo", 400), ("average", 800)])
def test_it_costs_what_the_policy_says(world, lots, valuation, cents):
    build.StockPolicyFactory(valuation=valuation)
    closed(world, lots[1])
    assert material() == cents
    assert stock_proof() == []


@pytest.mark.parametrize("valuation", ["lot", "fifo", "average"])
def test_it_gives_back_what_it_took_when_it_is_amended(world, lots, valuation):
    build.StockPolicyFactory(valuation=valuation)
    order = closed(world, lots[1])
    stamp = world.stamp(world.coordinator, WORK_DAY, "Another lot")
    corrections.amend_close_out(order=order, statement=using(order, lots[0], "0.1"), stamp=stamp)
    took, gave = StockValue.objects.filter(movement__kind__in=["use", "return"]).order_by("id")[:2]
    assert took.value_cents + gave.value_cents == 0
    assert stock_proof() == []


def test_it_takes_what_was_posted_before_stock_had_a_value(world, lots):
    """As on a database from before: the use is in the ledger, and nothing has a value."""
    closed(world, lots[1])
    use = LedgerEntry.objects.get(source_kind="material_use")
    build.StockPolicyFactory(valuation="average")
    moved = build.StockMovementFactory(
        lot=lots[1], kind="use", amount=-100_000, source_kind="material_use", source_id=uuid4()
    )
    build.LedgerEntryFactory(
        category="material",
        amount_cents=311,
        debit="cost-material",
        credit="clear-stock",
        source_kind="material_use",
        source_id=moved.source_id,
        fund=use.fund,
        order=use.order,
        visit=use.visit,
        prescription=use.prescription,
    )
    stock_values_post(posted_on=WORK_DAY.date(), stamp=world.stamp())
    assert moved.value.value_cents == -311
    assert stock_proof() == []
