"""Lots and movements: receipts add, uses take, counts set right, and nothing is ever changed."""

import uuid
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import DatabaseError, transaction

from orders.common.errors import Invalid
from orders.supplies.models import StockLot, StockMovement
from orders.supplies.selectors import lot_amount, stock_levels
from orders.supplies.services import lot_receive, stock_move
from tests import build

pytestmark = pytest.mark.django_db
ON = date(2027, 3, 1)


def move(stamp, lot, kind, amount, unit="L", **more):
    return stock_move(stamp=stamp, lot=lot, kind=kind, amount=Decimal(amount), unit=unit, on=ON, **more)


def receive(stamp, **changed):
    facts: dict[str, Any] = {
        "product": build.ProductFactory(),
        "lot_number": "G-1",
        "amount": Decimal("2.5"),
        "unit": "gal",
        "price_e4": 98_500,
        "received_on": ON,
    }
    return lot_receive(stamp=stamp, **facts | changed)


def test_it_receives_a_lot_with_what_was_typed(stamp):
    lot = receive(stamp)
    movement = StockMovement.objects.get()
    assert lot_amount(lot) == 9_463_529
    assert (movement.kind, movement.entered_value, movement.entered_unit) == ("receipt", Decimal("2.5"), "gal")
    assert (movement.by, movement.at) == (stamp.by, stamp.at)


def test_it_counts_a_dry_product_in_milligrams(stamp):
    lot = receive(stamp, amount=Decimal(1), unit="lb")
    assert (lot.unit, lot_amount(lot)) == ("mg", 453_592)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"amount": Decimal(0)}, "amount"),
        ({"amount": Decimal("NaN")}, "amount"),
        ({"unit": "barrel"}, "unit"),
        ({"price_e4": -1}, "price_e4"),
        ({"lot_number": ""}, "lot_number"),
    ],
)
def test_it_names_the_field_that_is_wrong_and_receives_nothing(stamp, changed, field):
    with pytest.raises(Invalid) as refusal:
        receive(stamp, **changed)
    assert [error.field for error in refusal.value.errors] == [field]
    assert not StockLot.objects.exists()


def test_it_takes_uses_and_write_offs_and_adds_returns(stamp):
    lot = build.StockLotFactory(received_ul=10_000_000)
    move(stamp, lot, "use", "1.5")
    move(stamp, lot, "return", "250", unit="mL")
    move(stamp, lot, "write_off", "1", reason="Leaked")
    assert lot_amount(lot) == 7_750_000


def test_it_sets_the_lot_to_what_was_counted(stamp):
    lot = build.StockLotFactory(received_ul=10_000_000)
    counted = move(stamp, lot, "count", "9.2", reason="Month's end")
    assert (counted.amount, lot_amount(lot)) == (-800_000, 9_200_000)
    move(stamp, lot, "count", "0", reason="Empty")
    assert lot_amount(lot) == 0


def test_it_lets_a_lot_go_below_zero(stamp):
    lot = build.StockLotFactory(received_ul=1_000_000)
    move(stamp, lot, "use", "1.5")
    assert lot_amount(lot) == -500_000


@pytest.mark.parametrize(
    ("kind", "amount", "unit", "field"),
    [
        ("use", "0", "L", "amount"),
        ("use", "1", "lb", "unit"),
        ("count", "1", "L", "reason"),
        ("gift", "1", "L", "kind"),
    ],
)
def test_it_refuses_a_movement_that_is_none(stamp, kind, amount, unit, field):
    lot = build.StockLotFactory(received_ul=1_000_000)
    with pytest.raises(Invalid) as refusal:
        move(stamp, lot, kind, amount, unit)
    assert [error.field for error in refusal.value.errors] == [field]
    assert lot_amount(lot) == 1_000_000


def test_it_takes_stock_once_for_one_source(stamp):
    lot, source = build.StockLotFactory(), uuid.uuid4()
    move(stamp, lot, "use", "1", source_kind="material_use", source_id=source)
    with pytest.raises(Invalid):
        move(stamp, lot, "use", "1", source_kind="material_use", source_id=source)
    assert lot_amount(lot) == 9_000_000


def test_it_never_changes_a_movement(stamp):
    lot = build.StockLotFactory()
    with pytest.raises(DatabaseError), transaction.atomic():
        StockMovement.objects.update(amount=1)
    assert lot_amount(lot) == 10_000_000


def test_it_lists_what_there_is_of_each_lot(django_assert_num_queries):
    full, empty = build.StockLotFactory(), build.StockLotFactory(received_ul=0)
    with django_assert_num_queries(1):
        levels = {level.lot: (level.amount, level.unit, level.product) for level in stock_levels()}
    assert levels == {full: (10_000_000, "uL", full.product), empty: (0, "uL", empty.product)}
