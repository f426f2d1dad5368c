"""What keeps a draft from being issued is said on its page, with the place where it is settled, and by the API."""

import pytest
import time_machine
from django.urls import reverse

from orders.supplies.models import Product
from orders.workorders.models import WorkOrder
from tests.api.caller import Caller
from tests.workorders.orders import TODAY, herbicide, spray_order

pytestmark = pytest.mark.django_db


@pytest.fixture
def order():
    with time_machine.travel(TODAY, tick=False):
        made = spray_order(product=herbicide(name="Ketterline"))
        Product.objects.update(is_active=False)
        yield made


def test_a_product_that_was_withdrawn_is_named_with_the_way_out(client, coordinator, order):
    client.force_login(coordinator)
    page = client.get(reverse("order", args=[order.public_id])).content.decode()
    assert "Ketterline is no longer in use" in page
    assert f'href="{reverse("setup-methods")}"' in page
    assert f'href="{reverse("setup-mixes")}?shown=all"' in page


def test_the_order_is_not_issued(coordinator, order):
    api = Caller(coordinator)
    reply = api.send(f"/api/work-orders/{order.public_id}/issue")
    assert (reply.status_code, reply.json()["code"]) == (409, "out_of_use")
    assert WorkOrder.objects.get(pk=order.pk).state == "draft"
