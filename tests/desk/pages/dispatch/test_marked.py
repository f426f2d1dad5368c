"""Marked orders issued each by itself, and the list as a file."""

import csv
import html
import io

import pytest

from orders.workorders.models import WorkOrder
from tests import build
from tests.api.scene import scene_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def scene(client):
    made = scene_build()
    client.force_login(made.users["coordinator"])
    return made


def _issue(client, *orders):
    return client.post("/orders/marked/issue/", {"order": [str(order.public_id) for order in orders]})


def test_it_issues_what_it_can_and_tells_why_not_of_the_rest(client, scene):
    unpaid = build.WorkOrderFactory(season=scene.world.season, crew=scene.world.crew)
    page = html.unescape(_issue(client, scene.order, unpaid).content.decode())
    assert "1 issued, 1 refused" in page
    assert "Say which fund pays this order." in page
    states = {row.pk: row.state for row in WorkOrder.objects.all()}
    assert states == {scene.order.pk: "issued", unpaid.pk: "draft"}


def test_a_second_time_refuses_and_changes_nothing(client, scene):
    _issue(client, scene.order)
    assert "0 issued, 1 refused" in _issue(client, scene.order).content.decode()


def test_it_wants_marked_orders_that_it_can_read(client, scene):
    assert _issue(client).status_code == 400
    assert client.post("/orders/marked/issue/", {"order": "x"}).status_code == 400


def test_it_is_the_desks(client, scene):
    client.force_login(scene.users["finance"])
    assert _issue(client, scene.order).status_code == 403
    assert "Issue the marked orders" not in client.get("/orders/").content.decode()


def test_it_narrows_by_season_and_days(client, scene):
    other = build.WorkOrderFactory(first_day="2027-05-03", last_day="2027-05-05")
    for query, found in (
        (f"season={other.season.public_id}", [other]),
        ("from_day=2027-05-05", [other]),
        ("to_day=2027-05-02", [scene.order]),
        ("from_day=2027-01-01&to_day=2027-12-31", [scene.order, other]),
    ):
        page = client.get(f"/orders/?{query}").content.decode()
        assert [order for order in (scene.order, other) if f">No. {order.number}<" in page] == found


def test_it_exports_what_is_shown(client, scene):
    build.WorkOrderFactory(state="void", void_reason="Rain.")
    reply = client.get("/orders/orders.csv?state=draft")
    rows = list(csv.DictReader(io.StringIO(reply.content.decode("utf-8-sig"))))
    assert [(row["Order"], row["Crew"], row["State"]) for row in rows] == [
        (str(scene.order.number), "Hollow crew", "Draft")
    ]


def test_a_lead_exports_own_orders_only(client, scene):
    client.force_login(scene.users["lead"])
    assert len(client.get("/orders/orders.csv").content.decode().splitlines()) == 1
