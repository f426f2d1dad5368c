"""An order closed from paper, and a close-out stated anew: what is typed is what is stored."""

import html
from decimal import Decimal

import pytest
from django.urls import reverse

from orders import flow
from orders.workorders.models import CloseOut, WorkOrder
from tests import build
from tests.api.scene import scene_build, stated

pytestmark = pytest.mark.django_db
HEAD = {"head-work_date": "2027-02-01", "head-signed_at": "16:30", "head-confirmed_by": "A. Lead"}


@pytest.fixture
def scene(client):
    made = scene_build()
    made.issue()
    client.force_login(made.users["coordinator"])
    return made


def _address(scene, name="order-close"):
    return reverse(name, args=[scene.order.public_id])


def _row(scene, number, worked, **more):
    person = scene.world.crew.memberships.order_by("id")[number].person
    said = {"visit": str(scene.visit.public_id), "person": str(person.public_id), "worked": worked, **more}
    return {f"time-{number}-{name}": value for name, value in said.items()}


def _paper(scene, *worked, percent="100", **more):
    rows: dict[str, str] = {}
    for number, hours in enumerate(worked):
        rows |= _row(scene, number, hours)
    return {**HEAD, "work-0-percent": percent, "times": str(len(worked)), "uses": "0", **rows, **more}


def _closed(scene, **more):
    flow.close_order(order=scene.order, statement=stated(scene.order, **more), stamp=scene.stamp("lead"))


def test_it_asks_for_everybody_and_fills_in_no_hours(client, scene):
    page = html.unescape(client.get(_address(scene)).content.decode())
    assert page.count(">Person 0</option>") == 7  # a row for each of four people, and three empty ones
    assert 'name="time-0-worked" maxlength="8"' in page


def test_it_closes_as_the_paper_says(client, scene):
    lot = build.StockLotFactory()
    used = {"visit": str(scene.visit.public_id), "lot": str(lot.public_id), "value": "12.5", "unit": "fl oz"}
    said = {f"use-0-{name}": value for name, value in used.items()}
    weather = {"head-air_f": "50", "head-wind_mph": "", "head-notes": "Wet."}
    reply = client.post(_address(scene), {**_paper(scene, "7:20", "7.5", ""), **said, "uses": "1", **weather})
    assert reply.status_code == 302
    close_out = CloseOut.objects.get()
    assert [row.minutes for row in close_out.time_entries.order_by("id")] == [440, 450]
    assert {row.origin for row in close_out.time_entries.all()} == {"typed"}
    assert close_out.material_uses.get().entered_value == Decimal("12.5")
    assert (close_out.confirmed_by, close_out.weather, close_out.by) == (
        "A. Lead",
        {"air_temperature_c": 10.0},
        scene.users["coordinator"],
    )
    assert close_out.happened_at.isoformat() == "2027-02-01T21:30:00+00:00"
    assert WorkOrder.objects.get(pk=scene.order.pk).state == "closed"


def test_what_cannot_be_read_is_told_at_its_field_and_stays(client, scene):
    reply = client.post(_address(scene), _paper(scene, "a day", percent="110"))
    page = html.unescape(reply.content.decode())
    assert reply.status_code == 400
    for told in ("Write hours as 7:30 or 7.5.", "less than or equal to 100", 'value="a day"'):
        assert told in page
    assert not CloseOut.objects.exists()


def test_a_refusal_names_the_row_as_the_page_numbers_it(client, scene):
    reply = client.post(_address(scene), _paper(scene, "", "25", "8"))
    page = html.unescape(reply.content.decode())
    assert (reply.status_code, "Hours, row 2: make more than 24 hours" in page) == (400, True)


def test_it_wants_to_know_whose_hours_and_from_which_lot(client, scene):
    used = {"use-0-visit": str(scene.visit.public_id), "use-0-value": "2", "use-0-unit": "fl oz", "uses": "1"}
    page = client.post(_address(scene), {**_paper(scene, "8"), **used, "time-0-person": ""}).content.decode()
    assert "Say whose hours these are." in page
    assert "Say which lot it came from." in page


def test_it_gives_more_rows_and_stores_nothing(client, scene):
    reply = client.post(_address(scene), {**_paper(scene, "8"), "more": "time"})
    page = reply.content.decode()
    assert (reply.status_code, 'name="time-3-worked"' in page, 'value="8"' in page) == (200, True, True)
    assert not CloseOut.objects.exists()


def test_an_amendment_begins_with_what_stands_and_keeps_what_nobody_touched(client, scene):
    step = {"origin": "timer", "step": "pull"}
    _closed(scene, weather={"air_temperature_c": 11.3, "sky": "gray"})
    page = html.unescape(client.get(_address(scene, "order-amend")).content.decode())
    assert page.count('value="5:00"') == 3
    rows = _row(scene, 0, "5:00", **step) | _row(scene, 1, "6:00", **step) | _row(scene, 2, "5:00")
    said = {**HEAD, "work-0-percent": "80", "times": "3", "uses": "0", **rows, "head-air_f": "52.3"}
    assert client.post(_address(scene, "order-amend"), said).status_code == 400  # no reason
    reply = client.post(_address(scene, "order-amend"), {**said, "head-reason": "One hour was missing."})
    assert reply.status_code == 302
    anew = CloseOut.objects.get(revision=2)
    assert (anew.reason, anew.outcomes.get().percent_complete) == ("One hour was missing.", 80)
    kept = anew.time_entries.order_by("id")
    assert [(row.minutes, row.origin) for row in kept] == [(300, "timer"), (360, "typed"), (300, "typed")]
    assert anew.weather == {"air_temperature_c": 11.3, "sky": "gray"}


def test_it_refuses_in_other_states(client, scene):
    assert client.get(_address(scene, "order-amend")).status_code == 409
    _closed(scene)
    assert client.get(_address(scene)).status_code == 409


def test_it_is_the_desks(client, scene):
    for name in ("lead", "finance"):
        client.force_login(scene.users[name])
        assert client.get(_address(scene)).status_code == 403
