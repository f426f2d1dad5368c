"""The guard's word on an estimate's mix, before anything is ordered."""

from datetime import date

import pytest

from tests import build
from tests.api.caller import Caller
from tests.workorders.orders import closed_with, herbicide, spray_order

pytestmark = pytest.mark.django_db
LAST_YEAR = date(2026, 11, 20)


def _estimate(milliliters=200, **more):
    order = spray_order(milliliters=milliliters, **more)
    return order.order_visits.get().visit.shares.get().prescription.estimate


def _told(caller, estimate):
    return caller.get(f"/api/estimates/{estimate.public_id}/label")


def test_it_says_that_the_label_is_the_law_where_nothing_is_found(desk):
    told = _told(desk, _estimate()).json()
    assert told["findings"] == []
    assert told["notice"].startswith("The label is the law.")


def test_it_tells_limit_sum_and_the_rows_behind_it(desk):
    product = herbicide(reviewed_on=None)
    first = closed_with(spray_order(product=product, on=LAST_YEAR), work_date=LAST_YEAR)
    found = {finding["code"]: finding for finding in _told(desk, _estimate(1_000, product=product)).json()["findings"]}
    assert set(found) == {"label-not-reviewed", "year-cap"}
    cap = found["year-cap"]
    assert (cap["limit"], cap["unit"], cap["overridable"]) == (8.0, "kg ae/ha", False)
    assert sum(part["kg_ae_per_ha"] for part in cap["counted"]) == pytest.approx(cap["total"]) == pytest.approx(9.6)
    assert any(row.startswith(f"work order {first.number},") for row in cap["rows"])


@pytest.mark.parametrize(("role", "status"), [("finance", 200), ("pesticide_supervisor", 200), ("crew_lead", 403)])
def test_it_opens_to_the_office(role, status):
    caller = Caller(build.UserFactory(roles=[role]))
    assert _told(caller, _estimate()).status_code == status


def test_it_knows_no_estimate_that_is_not_there(desk):
    assert desk.get("/api/estimates/00000000-0000-4000-8000-000000000000/label").status_code == 404
