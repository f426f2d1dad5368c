"""Closing an order, and amending what was stated."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db.models import Sum

from orders.costs.models import LedgerEntry
from orders.supplies.selectors import lot_amount
from orders.workorders.models import CloseOut, WorkOrder
from tests import build
from tests.api.caller import error_fields
from tests.api.scene import statement

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot():
    return build.StockLotFactory()


def _material(scene, lot, value="0.5"):
    return {"visit": str(scene.visit.public_id), "lot": str(lot.public_id), "value": value, "unit": "L"}


@pytest.mark.parametrize("name", ["lead", "mate", "coordinator"])
def test_it_is_closed_by_a_lead_of_the_crew_or_the_desk(scene, name):
    scene.issue()
    reply = scene.as_(name).send(f"{scene.address}/close", statement(scene.order))
    assert (reply.status_code, reply.json()["revision"], reply.json()["by"]["name"]) == (201, 1, name)
    assert WorkOrder.objects.get(pk=scene.order.pk).state == "closed"


@pytest.mark.parametrize("name", ["finance", "pesticide_supervisor"])
def test_it_is_closed_by_nobody_else(scene, name):
    scene.issue()
    assert scene.as_(name).send(f"{scene.address}/close", statement(scene.order)).status_code == 403


def test_it_posts_what_it_cost_and_takes_what_was_used(scene, lot):
    scene.issue()
    body = statement(scene.order, materials=[_material(scene, lot)])
    reply = scene.as_("lead").send(f"{scene.address}/close", body)
    assert reply.status_code == 201, reply.json()
    assert [(row["amount"], row["entered_value"]) for row in reply.json()["material_uses"]] == [(500_000, "0.5000")]
    assert lot_amount(lot) == 9_500_000
    labor = LedgerEntry.objects.filter(category="labor").aggregate(total=Sum("quantity"))["total"]
    assert labor == 900


def test_it_closes_once_however_often_it_is_sent(scene, lot):
    scene.issue()
    body = statement(scene.order, materials=[_material(scene, lot)])
    replies = [scene.as_("lead").send(f"{scene.address}/close", body, key="close-of-order-1") for _ in range(3)]
    assert [reply.status_code for reply in replies] == [201, 201, 201]
    assert replies[0].json() == replies[1].json() == replies[2].json()
    assert (CloseOut.objects.count(), lot_amount(lot)) == (1, 9_500_000)


def test_it_does_not_close_again_under_another_key(scene):
    scene.issue()
    scene.as_("lead").send(f"{scene.address}/close", statement(scene.order))
    reply = scene.as_("mate").send(f"{scene.address}/close", statement(scene.order))
    assert (reply.status_code, reply.json()["code"]) == (409, "wrong_state")


def test_it_keeps_the_ids_that_the_tablet_made(scene):
    scene.issue()
    own = str(uuid4())
    body = statement(scene.order, id=own)
    body["times"][0]["id"] = entry = str(uuid4())
    reply = scene.as_("lead").send(f"{scene.address}/close", body).json()
    assert (reply["id"], reply["time_entries"][0]["id"]) == (own, entry)


def test_it_keeps_and_shows_what_was_counted_and_drawn(scene):
    scene.issue()
    told = {"stems_cut": 12, "area_done_m2": 30.5, "drawn": build.square()}
    body = statement(scene.order)
    body["outcomes"][0] |= told
    outcome = scene.as_("lead").send(f"{scene.address}/close", body).json()["outcomes"][0]
    assert {name: outcome[name] for name in told} == told


def test_it_keeps_the_day_on_which_work_was_really_done(scene):
    scene.issue()
    body, later = statement(scene.order), str(scene.visit.day + timedelta(days=2))
    body["times"][0]["work_date"] = later
    reply = scene.as_("lead").send(f"{scene.address}/close", body)
    planned = str(scene.visit.day)
    assert [row["work_date"] for row in reply.json()["time_entries"]] == [later, planned, planned]


def test_it_stores_the_weather_that_was_measured(scene):
    scene.issue()
    weather = {"air_temperature_c": -3.5, "wind_m_s": 2, "sky": "Clear"}
    reply = scene.as_("lead").send(f"{scene.address}/close", statement(scene.order, weather=weather))
    assert reply.json()["weather"] == weather


@pytest.mark.parametrize(
    ("more", "fields"),
    [
        ({"happened_at": "2027-02-01T15:00:00"}, ["happened_at"]),
        ({"happened_at": "2027-02-01"}, ["happened_at"]),
        ({"outcomes": []}, ["outcomes"]),
        ({"confirmed_by": ""}, ["confirmed_by"]),
        ({"minutes": 1441}, ["times[0].minutes", "times[1].minutes", "times[2].minutes"]),
        ({"percent": 101}, ["outcomes[0].percent_complete"]),
        ({"times": "all day"}, ["times"]),
        ({"weather": {"air_temperature_c": "cold"}}, ["weather.air_temperature_c"]),
        ({"weather": {"moon": "full"}}, ["weather.moon"]),
        ({"follow_up_wanted": 1}, ["follow_up_wanted"]),
        ({"amount_cents": 5}, ["amount_cents"]),
    ],
)
def test_it_names_what_cannot_be_read_and_stores_nothing(scene, more, fields):
    scene.issue()
    reply = scene.as_("lead").send(f"{scene.address}/close", statement(scene.order, **more))
    assert (reply.status_code, error_fields(reply)) == (400, fields)
    assert not CloseOut.objects.exists()
    assert WorkOrder.objects.get(pk=scene.order.pk).state == "issued"


@pytest.mark.parametrize("part", ["visit", "person"])
def test_it_names_the_row_that_points_elsewhere(scene, part):
    scene.issue()
    body = statement(scene.order)
    body["times"][1][part] = str(uuid4())
    reply = scene.as_("lead").send(f"{scene.address}/close", body)
    assert [(error["field"], error["row"]) for error in reply.json()["errors"]] == [(f"times.{part}", 2)]


def test_it_takes_a_time_with_any_offset_and_tells_it_in_utc(scene):
    scene.issue()
    body = statement(scene.order, happened_at="2027-02-01t15:30:00.250-05:00")
    reply = scene.as_("lead").send(f"{scene.address}/close", body)
    assert reply.json()["happened_at"] == "2027-02-01T20:30:00.250000Z"


def _amended(scene, name="coordinator", **more):
    body = statement(scene.order, reason="Two hours were forgotten.", **more)
    return scene.as_(name).send(f"{scene.address}/amend", body)


def test_it_amends_with_a_new_revision(scene):
    scene.issue()
    scene.as_("lead").send(f"{scene.address}/close", statement(scene.order, minutes=300))
    reply = _amended(scene, minutes=420)
    assert (reply.status_code, reply.json()["revision"]) == (201, 2)
    labor = LedgerEntry.objects.filter(category="labor").aggregate(total=Sum("quantity"))["total"]
    assert labor == 3 * 420


def test_it_amends_nothing_that_is_not_closed(scene):
    scene.issue()
    assert _amended(scene).json()["code"] == "wrong_state"


def test_it_is_amended_by_the_desk_alone(scene):
    scene.issue()
    scene.as_("lead").send(f"{scene.address}/close", statement(scene.order))
    assert {name: _amended(scene, name).status_code for name in ("lead", "finance")} == {"lead": 403, "finance": 403}
