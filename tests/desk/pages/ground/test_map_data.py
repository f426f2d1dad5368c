"""What the map's script reads: who may, which patches, each measure, what is fetched again, and how many queries."""

import gzip
import json

import pytest
import time_machine
from django.core.cache import cache
from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders.common.stamp import Stamp
from orders.reports.ground.measures import MEASURES
from orders.sites.services import patch_edit
from tests import build
from tests.build.base import NOW
from tests.desk.pages.ground.map_world import map_build, more_patches
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _clock():
    cache.clear()
    with time_machine.travel("2027-07-01T15:00:00+00:00", tick=False):
        yield


@pytest.fixture
def world(db):
    return map_build()


@pytest.fixture
def as_coordinator(client, coordinator, world):
    client.force_login(coordinator)
    return client


def _data(client, query=""):
    reply = client.get(f"/map/patches.json?{query}")
    assert reply.status_code == 200, reply.content
    return json.loads(reply.content)


def _summed(steps):
    found, at = [], 0
    for step in steps:
        at += step
        found.append(at)
    return found


def test_it_tells_each_patch_where_it_lies_and_its_class(as_coordinator, world):
    said = _data(as_coordinator)
    assert said["sites"] == ["ALDER", "BRACKEN", "CEDAR"]
    assert sorted(_summed(said["n"])) == sorted(patch.pk for patch in world.patches)
    assert [said["sites"][at] for at in said["site"]] == ["ALDER", "ALDER", "BRACKEN", "BRACKEN", "CEDAR", "CEDAR"]
    first = said["code"].index("M-001")
    west, south = _summed(said["west"])[first], _summed(said["south"])[first]
    assert (west / said["steps_per_degree"], south / said["steps_per_degree"]) == pytest.approx((-86.396, 38.3))
    assert (said["width"][first], said["height"][first]) == (100, 100)
    assert said["told_words"][said["told"][first]] == "20%"


@pytest.mark.parametrize("by", sorted(set(MEASURES) - {"recommended"}))
def test_it_puts_every_patch_in_a_class_of_each_measure(as_coordinator, by):
    said = _data(as_coordinator, f"by={by}")
    counted = [said["class"].count(at) for at in range(len(said["classes"]))]
    assert [one["count"] for one in said["classes"]] == counted
    assert sum(counted) == 6
    looks = [one["look"] for one in said["classes"]]
    assert len(set(looks)) == len(looks)
    assert set(looks) <= set(range(8))


@pytest.mark.parametrize(
    ("query", "codes"),
    [
        ("site=CEDAR", ["M-002", "M-005"]),
        ("form=climbing", ["M-001", "M-003", "M-005"]),
        ("species=EUFO&site=ALDER", ["M-000", "M-003"]),
        ("control_state=maintenance", ["M-002", "M-005"]),
        ("method=hand-pull", ["M-000"]),
        ("method=none&site=ALDER", []),
        ("cover_from=40", ["M-003", "M-004", "M-005"]),
        ("cover_from=20&cover_to=30", ["M-001", "M-002"]),
        ("seed_from=2027-07-06", ["M-004"]),
        ("seed_to=2027-07-06", ["M-000"]),
        ("text=m-003", ["M-003"]),
        ("text=cedar%20pres", ["M-002", "M-005"]),
    ],
)
def test_it_narrows(as_coordinator, query, codes):
    assert sorted(_data(as_coordinator, query)["code"]) == codes


def _told(client, by, code):
    said = _data(client, f"by={by}")
    row = said["code"].index(code)
    return said["classes"][said["class"][row]]["words"], said["told_words"][said["told"][row]]


def test_it_tells_what_an_order_and_a_deadline_come_to(as_coordinator):
    assert _told(as_coordinator, "order", "M-000") == ("Issued", "Issued")
    assert _told(as_coordinator, "order", "M-001") == ("On no order", "On no order")
    assert _told(as_coordinator, "deadline", "M-000") == ("On an order that is to meet it", "4 days left, on an order")
    assert _told(as_coordinator, "deadline", "M-004") == ("Up to 14 days left, on no order", "8 days left")
    assert _told(as_coordinator, "deadline", "M-001")[0] == "No seed deadline"
    assert _told(as_coordinator, "chosen", "M-000") == ("Hand pulling", "Hand pulling")
    assert _told(as_coordinator, "above", "M-000")[0] == "At or below the target"
    assert _told(as_coordinator, "age", "M-000") == ("12 months to 2 years", "542 days ago")


def test_it_tells_what_is_recommended_as_the_list_of_patches_does(client, db):
    ground = ground_build(estimated=False)
    client.force_login(ground.world.coordinator)
    for _ in range(2):  # the second time from what was kept
        said = _data(client, "by=recommended")
        words = [said["told_words"][at] for at in said["told"]]
        assert dict(zip(said["code"], words, strict=True)) == {
            "H-01": "Hand pulling with roots",
            "H-02": "Dormant-season foliar spray",
            "H-03": "Dormant-season foliar spray",
        }


def test_it_leaves_out_void_orders_and_other_seasons(as_coordinator, world):
    order = world.season.work_orders.get(order_visits__visit__shares__prescription__patch=world.patch(0))
    order.state, order.void_reason = "void", "Wrong day"
    order.save()
    assert _told(as_coordinator, "order", "M-000")[0] == "On no order"
    other = build.SeasonFactory(name="2031")
    assert set(_data(as_coordinator, f"by=order&season={other.public_id}")["class"]) == {4}


def test_it_is_fetched_again_only_after_a_write(as_coordinator, coordinator, world):
    stamp = Stamp(by=coordinator, at=NOW)
    patch_edit(patch=world.patch(0), expected=1, name="North slope", stamp=stamp)
    first = as_coordinator.get("/map/patches.json?by=state")
    held = {"If-None-Match": first.headers["ETag"]}
    again = as_coordinator.get("/map/patches.json?by=state", headers=held)
    assert (again.status_code, again.content) == (304, b"")
    assert "no-store" not in first.headers["Cache-Control"]
    patch_edit(patch=world.patch(1), expected=1, control_state="eradicated", stamp=stamp)
    fresh = as_coordinator.get("/map/patches.json?by=state", headers=held)
    assert fresh.status_code == 200
    assert fresh.headers["ETag"] != first.headers["ETag"]
    said = json.loads(fresh.content)
    assert said["classes"][said["class"][said["code"].index("M-001")]]["key"] == "eradicated"


def test_it_comes_compressed(as_coordinator):
    reply = as_coordinator.get("/map/patches.json", headers={"Accept-Encoding": "gzip"})
    assert reply.headers["Content-Encoding"] == "gzip"
    assert json.loads(gzip.decompress(reply.content))["by"] == "cover"


@pytest.mark.parametrize(
    "address", ["/map/patches.json", "/map/sites.json", "/map/outlines.json?box=-87,38,-86,39&zoom=12"]
)
def test_it_opens_to_the_office_alone(client, world, address):
    assert client.get(address).status_code == 401
    for role, status in (("crew_lead", 403), ("finance", 200), ("pesticide_supervisor", 200), ("administrator", 200)):
        client.force_login(build.UserFactory(roles=[role]))
        assert (role, client.get(address).status_code) == (role, status)


def test_it_gives_outlines_as_fine_as_the_zoom(as_coordinator, world):
    said = json.loads(as_coordinator.get("/map/outlines.json?box=-86.41,38.29,-86.3,38.31&zoom=16").content)
    assert sorted(said["n"]) == sorted(patch.pk for patch in world.patches)
    ring = said["rings"][0][0]
    assert len(ring) == 8  # a square: four corners
    assert max(abs(step) for step in ring[2:]) == pytest.approx(0.001 / 360 * 2 * 256 * 2**16, rel=0.3)
    far = json.loads(as_coordinator.get("/map/outlines.json?box=-86.41,38.29,-86.3,38.31&zoom=10").content)
    assert far["rings"] == []


@pytest.mark.parametrize("query", ["", "box=1,2,3&zoom=12", "box=-86,38,-87,39&zoom=12", "box=-87,38,-86,39&zoom=40"])
def test_it_refuses_a_box_that_is_none(as_coordinator, query):
    assert as_coordinator.get(f"/map/outlines.json?{query}").status_code == 400


def test_it_refuses_a_measure_that_it_does_not_have(as_coordinator):
    assert as_coordinator.get("/map/patches.json?by=color").status_code == 400


def _queries(client, address):
    cache.clear()
    with CaptureQueriesContext(connection) as caught:
        assert client.get(address).status_code == 200
    return len(caught)


@pytest.mark.parametrize("address", ["/map/patches.json?by={by}", "/map/?by={by}"])
@pytest.mark.parametrize("by", ["cover", "order", "chosen"])
def test_it_asks_no_more_queries_for_more_patches(client, coordinator, address, by):
    client.force_login(coordinator)
    map_build(3)
    few = _queries(client, address.format(by=by))
    more_patches(300)
    assert _queries(client, address.format(by=by)) == few
