"""Equipment hours and trips on pages: entered by the desk, which sees no amount of them."""

import pytest
from django.urls import reverse

from orders.costs.models import EquipmentHours, Trip
from orders.workorders.models import WorkOrder
from tests import build
from tests.browser import purchase_pages

pytestmark = pytest.mark.django_db


@pytest.fixture
def as_desk(client, coordinator):
    client.force_login(coordinator)
    return client


def test_it_shows_what_stands_and_no_amount(as_desk):
    page = as_desk.get(purchase_pages.equipment()).content.decode()
    assert "39.80 mi" in page
    assert "41.20 mi" not in page
    assert "$" not in page


def test_it_enters_hours_of_a_visit(as_desk):
    address = purchase_pages.hours_new()
    visit = WorkOrder.objects.get().order_visits.get().visit
    told = {
        "equipment": build.EquipmentFactory(code="saw").public_id,
        "visit": visit.public_id,
        "method_code": visit.shares.get().prescription.method.code,
        "work_date": "2027-02-10",
        "operating_minutes": "95",
        "standby_minutes": "20",
    }
    assert as_desk.post(address, told).status_code == 302
    row = EquipmentHours.objects.get()
    assert (row.operating_minutes, row.standby_minutes) == (95, 20)


def test_it_enters_and_corrects_a_trip(as_desk):
    address = purchase_pages.trip_new()
    assert as_desk.post(address, {"vehicle": "Truck 4", "work_date": "2027-02-10", "miles": "42.6"}).status_code == 302
    trip = Trip.objects.get()
    as_desk.post(reverse("trip-correct", args=[trip.public_id]), {"miles": "40.1", "reason": "Misread"})
    assert [(row.miles_tenths, row.reason) for row in Trip.objects.order_by("id")] == [(426, ""), (401, "Misread")]


def test_it_sends_whoever_names_no_order_to_the_list(as_desk):
    assert as_desk.get(reverse("hours-new")).url == reverse("equipment-hours")


def test_it_is_closed_to_crew_leads(client, crew_lead):
    client.force_login(crew_lead)
    assert client.get(reverse("equipment-hours")).status_code == 403
