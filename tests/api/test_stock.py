"""Products with the facts of their labels, lots, and what moves in and out of stock."""

from decimal import Decimal

import pytest

from orders.supplies.models import StockMovement
from orders.supplies.selectors import lot_amount
from tests import build
from tests.api.caller import Caller, error_fields

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot():
    return build.StockLotFactory(product=build.ProductFactory(code="clearwood"), lot_number="L-1")


def test_it_lists_products(lead, lot):
    build.ProductFactory(code="dye", is_herbicide=False)
    assert [row["code"] for row in lead.rows("/api/products?is_herbicide=true")] == ["clearwood"]


def test_it_shows_the_label_of_one_and_that_it_is_the_law(lead, lot):
    told = lead.get(f"/api/products/{lot.product.public_id}").json()
    assert told["notice"].startswith("The label is the law.")
    assert (told["caps"][0]["kg_ae_per_ha"], told["caps"][0]["kind"]) == (8.0, "label-mandatory")
    assert (told["entry_rule"], told["formulation"]) == ("Keep out until dry", "")


def test_it_shows_what_the_label_gives_for_each_use_and_for_the_weather(lead):
    use = {"method": "cut-stem", "max_percent_vv": 50.0, "least_days_between": 30}
    product = build.ProductFactory(uses=[use], weather=[{}])
    told = lead.get(f"/api/products/{product.public_id}").json()
    assert told["uses"] == ["cut-stem"]
    assert told["label_uses"] == [{**use, "max_l_per_ha": None, "most_uses_a_year": None, "reference": "invented"}]
    assert [(limit["measure"], limit["high"], limit["kind"]) for limit in told["weather"]] == [
        ("wind_m_s", 4.47, "label-advisory")
    ]


def test_it_tells_what_a_lot_holds_and_not_what_it_cost(lead, lot):
    (row,) = lead.rows(f"/api/lots?product={lot.product.public_id}")
    assert (row["lot_number"], row["unit"], row["held"]) == ("L-1", "uL", 10_000_000)
    assert not any("price" in name for name in row)


def test_it_adds_up_a_product_over_its_lots(lead, lot):
    build.StockLotFactory(product=lot.product, received_ul=500_000)
    build.StockLotFactory(product=build.ProductFactory(code="aa"), received_ul=0)
    told = [(row["product"]["code"], row["held"], row["lots"]) for row in lead.get("/api/stock").json()["results"]]
    assert told == [("aa", 0, 1), ("clearwood", 10_500_000, 2)]


def _move(lot, **more):
    return {"lot": str(lot.public_id), "amount": "1.5", "unit": "L", "on": "2026-12-01", "kind": "receipt", **more}


@pytest.mark.parametrize(
    ("kind", "amount", "held"),
    [("receipt", "1.5", 11_500_000), ("write_off", "1.5", 8_500_000), ("count", "9.25", 9_250_000)],
)
def test_it_moves_stock(desk, lot, kind, amount, held):
    reply = desk.send("/api/stock-movements", _move(lot, kind=kind, amount=amount, reason="Shelf count."))
    assert (reply.status_code, reply.json()["entered_value"]) == (201, f"{Decimal(amount):.4f}")
    assert lot_amount(lot) == held


def test_it_moves_stock_once_for_one_key(desk, lot):
    for _ in range(3):
        desk.send("/api/stock-movements", _move(lot), key="receipt-of-monday")
    assert lot_amount(lot) == 11_500_000


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"kind": "use"}, "kind"),
        ({"amount": 1.5}, "amount"),
        ({"amount": "1.23456"}, "amount"),
        ({"amount": "NaN"}, "amount"),
        ({"amount": "1e5"}, "amount"),
        ({"amount": "-1"}, "amount"),
        ({"unit": "kg"}, "unit"),
        ({"kind": "write_off"}, "reason"),
        ({"on": "2026-12-01T00:00:00Z"}, "on"),
    ],
)
def test_it_names_what_is_wrong_and_moves_nothing(desk, lot, more, field):
    reply = desk.send("/api/stock-movements", _move(lot, **more))
    assert (reply.status_code, error_fields(reply)) == (400, [field])
    assert StockMovement.objects.count() == 1


def test_it_lists_movements_with_who_made_them(desk, lot):
    desk.send("/api/stock-movements", _move(lot, kind="count", amount="9", reason="Shelf count."))
    rows = desk.rows(f"/api/stock-movements?lot={lot.public_id}&kind=count")
    assert [(row["amount"], row["by"]["name"], row["product"]) for row in rows] == [(-1_000_000, "desk", "clearwood")]


@pytest.mark.parametrize(("role", "status"), [("pesticide_supervisor", 201), ("crew_lead", 403), ("finance", 403)])
def test_it_lets_those_move_stock_who_answer_for_it(lot, role, status):
    caller = Caller(build.UserFactory(roles=[role]))
    assert caller.send("/api/stock-movements", _move(lot)).status_code == status
