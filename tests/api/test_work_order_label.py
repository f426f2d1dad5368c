"""What the labels say stands on the work order, kept from its issue on."""

import pytest

from orders.supplies.models import Product
from orders.workorders.services import order_issue
from tests.workorders.orders import herbicide, spray_order

pytestmark = pytest.mark.django_db


def _label(caller, order):
    return caller.get(f"/api/work-orders/{order.public_id}").json()["label"]


def test_it_shows_the_labels_as_they_stand_on_a_draft(desk):
    order = spray_order(product=herbicide(rain_free_hours=6, cautions="Shield what must live."))
    label = _label(desk, order)
    assert (label["at"], label["rain_free_hours"]) == (None, 6.0)
    assert [(product["code"], product["cautions"]) for product in label["products"]] == [
        ("herb", "Shield what must live.")
    ]


def test_it_keeps_the_label_of_the_day_of_issue(desk, stamp):
    order = spray_order(product=herbicide(rain_free_hours=6))
    order_issue(order=order, stamp=stamp)
    Product.objects.update(rain_free_hours=24, label_version="later")
    label = _label(desk, order)
    assert (label["at"] is not None, label["rain_free_hours"]) == (True, 6.0)
    assert label["products"][0]["label_version"] == "2026-01"
