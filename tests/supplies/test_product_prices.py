"""What a liter costs: by the lots on hand where their cost is known, else by the price list."""

from datetime import date

import pytest

from orders.supplies.selectors import product_prices
from tests import build

pytestmark = pytest.mark.django_db
DAY = date(2027, 1, 4)


@pytest.fixture
def product(db):
    made = build.ProductFactory(code="herb")
    build.PriceFactory(kind="product", code="herb", price_e4=250_000, source="dealer's list")
    return made


def lot(product, *, liters, price_e4, number, **more):
    return build.StockLotFactory(
        product=product, received_ul=liters * 1_000_000, price_e4=price_e4, lot_number=number, **more
    )


def test_it_takes_the_price_list_where_nothing_is_on_hand(product):
    assert product_prices(DAY)["herb"] == (250_000, "price list from 2026-01-01: dealer's list")


def test_it_weighs_the_lots_on_hand_by_what_they_hold(product):
    lot(product, liters=10, price_e4=220_000, number="A")
    lot(product, liters=5, price_e4=100_000, number="B")
    price, source = product_prices(DAY)["herb"]
    assert price == 180_000
    assert source == "stock on hand: lot A, B, weighted by what each holds"


def test_it_rounds_half_up_to_the_hundredth_of_a_cent(product):
    lot(product, liters=1, price_e4=10, number="A")
    lot(product, liters=1, price_e4=11, number="B")
    assert product_prices(DAY)["herb"].price_e4_per_l == 11


def test_it_leaves_out_lots_that_are_empty_overdrawn_free_dry_or_still_to_come(product):
    lot(product, liters=0, price_e4=1, number="empty")
    over = lot(product, liters=1, price_e4=1, number="over")
    build.StockMovementFactory(lot=over, kind="use", amount=-2_000_000)
    lot(product, liters=9, price_e4=0, number="given")
    lot(product, liters=9, price_e4=1, number="dry", unit="mg")
    lot(product, liters=9, price_e4=1, number="later", received_on=date(2027, 2, 1))
    assert product_prices(DAY)["herb"].price_e4_per_l == 250_000


def test_it_counts_what_was_held_on_that_day(product):
    held = lot(product, liters=10, price_e4=220_000, number="A")
    build.StockMovementFactory(lot=held, kind="use", amount=-10_000_000, on=date(2027, 1, 5))
    assert product_prices(DAY)["herb"].price_e4_per_l == 220_000
    assert product_prices(date(2027, 1, 5))["herb"].price_e4_per_l == 250_000


def test_it_knows_no_price_of_what_has_neither(db):
    build.ProductFactory(code="unpriced")
    assert product_prices(DAY) == {}
