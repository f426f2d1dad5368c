"""Editions of an order and its packet over the API."""

import pytest

from orders.workorders.models import WorkOrder
from tests.workorders.orders import spray_order

pytestmark = pytest.mark.django_db


@pytest.fixture
def order(db):
    made = spray_order()
    WorkOrder.objects.update(state="issued")
    return made


def test_it_makes_an_edition_once_and_tells_of_it(desk, order):
    address = f"/api/work-orders/{order.public_id}/editions"
    assert desk.get(address).json() == {"newest": None, "changes": [], "editions": []}
    for _ in range(2):
        assert desk.send(address, {}).json()["number"] == 1
    told = desk.get(address).json()
    assert (told["newest"]["number"], len(told["editions"]), told["changes"]) == (1, 1, [])


def test_it_refuses_a_draft(desk, order):
    WorkOrder.objects.update(state="draft")
    assert desk.send(f"/api/work-orders/{order.public_id}/editions", {}).status_code == 409


def test_it_gives_what_a_crew_carries(desk, order):
    told = desk.get(f"/api/work-orders/{order.public_id}/packet").json()
    assert told["order"]["number"] == order.number
    assert told["site"]["code"] == order.site.code


def test_it_is_not_there_for_another_crew(lead, order):
    assert lead.get(f"/api/work-orders/{order.public_id}/packet").status_code == 404
