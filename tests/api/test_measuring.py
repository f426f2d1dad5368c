"""Equipment hours, trips and the value of stock by the API."""

import pytest

from orders.costs.models import LedgerEntry
from orders.workorders.models import OrderVisit
from tests import build
from tests.api.caller import Caller, error_fields

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def suspense():
    return build.FundFactory(code="SUSPENSE", is_suspense=True)


@pytest.fixture
def visit():
    order = build.WorkOrderFactory(number=12, state="underway")
    made = build.VisitFactory(prescriptions=[build.PrescriptionFactory()], state="ordered")
    OrderVisit.objects.create(order=order, visit=made)
    return made


def hours(visit, **more):
    return {
        "equipment": str(build.EquipmentFactory(code="chipper").public_id),
        "order": str(visit.order_visit.order.public_id),
        "visit": str(visit.public_id),
        "work_date": "2027-02-10",
        "operating_minutes": 90,
        **more,
    }


def test_it_enters_and_corrects_hours_without_an_amount(desk, visit):
    build.PriceFactory(kind="equipment", code="chipper", price_e4=400_000)
    made = desk.send("/api/equipment-hours", hours(visit))
    assert made.status_code == 201
    assert not [name for name in made.json() if "cents" in name or "rate" in name]
    address = f"/api/equipment-hours/{made.json()['id']}/correct"
    again = desk.send(address, {"operating_minutes": 30, "reason": "Misread"})
    assert (again.json()["revision"], again.json()["replaces"]["id"]) == (2, made.json()["id"])
    assert sum(LedgerEntry.objects.values_list("amount_cents", flat=True)) == 2_000


def test_it_refuses_to_correct_the_same_hours_twice(desk, visit):
    made = desk.send("/api/equipment-hours", hours(visit)).json()
    address = f"/api/equipment-hours/{made['id']}/correct"
    codes = [desk.send(address, {"operating_minutes": 30, "reason": "Misread"}).status_code for _ in range(2)]
    assert codes == [201, 409]


def test_it_asks_for_the_order_of_a_visit(desk, visit):
    trip = {"vehicle": "Truck 4", "work_date": "2027-02-10", "miles_tenths": 426, "visit": str(visit.public_id)}
    assert error_fields(desk.send("/api/trips", trip)) == ["order"]


def test_it_lets_no_lead_enter_a_trip(lead):
    assert lead.send("/api/trips", {}).status_code == 403


def test_it_tells_finance_what_stock_is_worth(finance):
    supervisor = Caller(build.UserFactory(roles=["pesticide_supervisor"]))
    lot = build.StockLotFactory()
    body = {"lot": str(lot.public_id), "amount": "1", "unit": "L", "on": "2026-12-01", "reason": "Frozen"}
    assert supervisor.send("/api/stock-movements", {"kind": "write_off", **body}).status_code == 201
    told = finance.get("/api/stock-value?on=2026-12-01").json()
    assert (told["value_cents"], told["waiting"], told["rows"][0]["lots"][0]["amount"]) == (19_800, 0, 9_000_000)
    assert [row["value_cents"] for row in finance.rows("/api/stock-values")] == [-2_200, 22_000]


def test_it_sets_no_policy_for_days_that_have_values(finance):
    build.StockValueFactory()
    body = {"from_day": "2026-01-01", "valuation": "fifo", "source": "The auditor"}
    assert error_fields(finance.send("/api/stock-policies", body)) == ["from_day"]
    assert finance.send("/api/stock-policies", body | {"from_day": "2027-07-01"}).status_code == 201


def test_it_lists_what_to_buy_in_the_sizes_that_are_named(finance):
    build.PriceFactory(kind="product", code="hollowcut", price_e4=220_000)
    build.ProductFactory(code="hollowcut")
    estimate = build.EstimateFactory(products_ul={"hollowcut": 3_200_000})
    season = build.PrescriptionFactory(estimate=estimate).season
    told = finance.get(f"/api/purchase-list?season={season.public_id}&sizes=2500").json()
    assert told["rows"][0]["containers"] == [{"volume_ml": 2_500, "count": 2}]
    assert told["cost_cents"] == 11_000


@pytest.mark.parametrize("sizes", ["0", "10,10", "1x", "99999999"])
def test_it_refuses_sizes_that_are_none(finance, sizes):
    season = build.SeasonFactory()
    assert error_fields(finance.get(f"/api/purchase-list?season={season.public_id}&sizes={sizes}")) == ["sizes"]
