"""A held step beside the order as it stands by now."""

import html
from datetime import UTC, datetime
from random import Random

import pytest

from orders import corrections
from orders.commands.queue import batch_take
from orders.field.models import Flag
from orders.field.services.commands import Contact
from orders.workorders.models import CloseOut
from tests import build
from tests.api.fake_tablet import FakeTablet
from tests.api.scene import scene_build, statement

pytestmark = pytest.mark.django_db
AT = datetime(2027, 2, 1, 22, tzinfo=UTC)


@pytest.fixture
def scene(client):
    made = scene_build()
    made.issue()
    client.force_login(made.users["coordinator"])
    return made


def _held(scene):
    """The lead closes an order that is not as the tablet knew it."""
    device = build.DeviceFactory(users=[scene.users["lead"]])

    def line(batch):
        taken = batch_take(contact=Contact(device, AT), commands=batch["commands"], is_late=lambda: False)
        return {"answers": taken.answers, "later": taken.later}

    tablet = FakeTablet(line, scene.users["lead"].public_id, Random(1))
    tablet.close(scene.order.public_id, statement(scene.order, percent=80))
    tablet.sync()
    return f"/flags/{Flag.objects.get(kind='held').public_id}/"


def _page(client, address):
    return html.unescape(client.get(address).content.decode())


def test_a_close_of_a_void_order_stands_beside_it_and_is_settled_once_it_stands_again(client, scene):
    corrections.void_order(order=scene.order, stamp=scene.stamp(reason="Not needed."))
    address = _held(scene)
    page = _page(client, address)
    for told in ("The order, and what is held", "Void: Not needed.", "Issued or underway is needed", "<td>80</td>"):
        assert told in page
    assert f"/orders/{scene.order.public_id}/#act-restore" in page
    settled = {"resolution": "apply_again", "note": "They had been there."}
    assert client.post(address, settled).status_code == 409
    scene.order.refresh_from_db()
    corrections.restore_order(order=scene.order, stamp=scene.stamp(reason="They had been there."))
    assert client.post(address, settled).status_code == 302
    assert CloseOut.objects.get().outcomes.get().percent_complete == 80


def test_a_close_of_an_order_of_another_crew_by_now_is_put_aside(client, scene):
    corrections.reassign_order(order=scene.order, crew=scene.other_crew, stamp=scene.stamp())
    address = _held(scene)
    page = _page(client, address)
    assert "<td>Far crew</td><td>Hollow crew</td>" in page
    assert client.post(address, {"resolution": "put_aside", "note": "Far crew does it."}).status_code == 302
    assert not CloseOut.objects.exists()
