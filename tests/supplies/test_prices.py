from datetime import date

import pytest

from orders.common.errors import Invalid
from orders.supplies.models import Price
from orders.supplies.selectors import contract_minimums, prices
from orders.supplies.services import price_set
from tests import build

pytestmark = pytest.mark.django_db


def test_it_takes_the_price_in_force_on_the_day(stamp):
    for from_day, price_e4 in [(date(2027, 7, 1), 7_250), (date(2026, 1, 1), 7_000)]:
        price_set(stamp=stamp, kind="mileage", code="mileage", from_day=from_day, price_e4=price_e4, source="budget")
    assert prices(date(2027, 6, 30)) == {("mileage", "mileage"): 7_000}
    assert prices(date(2027, 7, 1)) == {("mileage", "mileage"): 7_250}
    assert prices(date(2025, 12, 31)) == {}


def test_it_prices_products_and_equipment_by_code(stamp):
    product = build.ProductFactory()
    day = date(2026, 1, 1)
    price_set(stamp=stamp, kind="product", code=product.code, from_day=day, price_e4=98_500, source="budget")
    price_set(stamp=stamp, kind="equipment", code="mow-mulch", from_day=day, price_e4=680_000, source="budget")
    assert prices(day) == {("product", product.code): 98_500, ("equipment", "mow-mulch"): 680_000}
    assert set(Price.objects.values_list("unit", flat=True)) == {"L", "hour"}


def test_it_prices_fuel_blades_and_contracts(stamp):
    day = {"stamp": stamp, "from_day": date(2026, 1, 1), "source": "budget"}
    price_set(kind="fuel", code="fuel", price_e4=13_500, **day)
    price_set(kind="blade", code="blade", price_e4=245_000, **day)
    price_set(kind="contract", code="cut", price_e4=49_000_000, minimum_e4=4_500_000, **day)
    price_set(kind="contract", code="dig", price_e4=99_000_000, **day)
    assert prices(day["from_day"])[("contract", "cut")] == 49_000_000
    assert contract_minimums(day["from_day"]) == {"cut": 4_500_000}
    assert [row.unit for row in Price.objects.order_by("kind", "code")] == ["each", "ha", "ha", "L"]


def test_it_takes_the_newest_least_price_of_a_contract():
    for from_day, least in [(date(2026, 1, 1), 5_000), (date(2027, 1, 1), None)]:
        build.PriceFactory(kind="contract", code="cut", from_day=from_day, minimum_e4=least)
    assert contract_minimums(date(2026, 6, 1)) == {"cut": 5_000}
    assert contract_minimums(date(2027, 6, 1)) == {}


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"minimum_e4": 5}, "minimum_e4"),
        ({"kind": "contract", "code": "cut", "minimum_e4": -5}, "minimum_e4"),
        ({"kind": "fuel", "code": "diesel"}, "code"),
        ({"kind": "product", "code": "unheard-of"}, "code"),
        ({"code": "bus"}, "code"),
        ({"price_e4": -1}, "price_e4"),
        ({"source": ""}, "source"),
    ],
)
def test_it_names_the_field_that_is_wrong(stamp, changed, field):
    facts = {"kind": "mileage", "code": "mileage", "from_day": date(2026, 1, 1), "price_e4": 7_000, "source": "budget"}
    with pytest.raises(Invalid) as refusal:
        price_set(stamp=stamp, **facts | changed)
    assert [error.field for error in refusal.value.errors] == [field]
    assert not Price.objects.exists()
