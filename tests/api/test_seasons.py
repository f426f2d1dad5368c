"""Seasons, and the recommended prescriptions of one."""

from dataclasses import asdict, fields

import pytest

from orders.api.seasons import WorthIn
from orders.planning.models import ChoiceBatch, Prescription, Season
from orders.planning.worth import Weights
from tests import build
from tests.api.caller import error_fields
from tests.flow.world import world_build

pytestmark = pytest.mark.django_db
BODY = {"name": "2028", "first_day": "2028-01-03", "last_day": "2028-12-15", "budget_cents": 12_000_000}


def test_it_adds_a_season_and_says_where_it_is(desk):
    reply = desk.send("/api/seasons", BODY)
    assert (reply.status_code, reply.json()["budget_cents"]) == (201, 12_000_000)
    assert desk.get(reply.headers["Location"]).json() == reply.json()


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"last_day": "2028-01-03"}, "last_day"),
        ({"first_day": "01/03/2028"}, "first_day"),
        ({"first_day": "2028-02-30"}, "first_day"),
        ({"first_day": "20280103"}, "first_day"),
        ({"budget_cents": -1}, "budget_cents"),
        ({"budget_cents": 1.5}, "budget_cents"),
        ({"budget_cents": 10**30}, "budget_cents"),
        ({"name": ""}, "name"),
        ({"name": None}, "name"),
    ],
)
def test_it_names_what_is_wrong(desk, more, field):
    reply = desk.send("/api/seasons", {**BODY, **more})
    assert (reply.status_code, error_fields(reply)) == (400, [field])
    assert not Season.objects.exists()


def test_it_adds_a_name_once(desk):
    desk.send("/api/seasons", BODY)
    assert error_fields(desk.send("/api/seasons", BODY)) == ["name"]


def test_it_lists_the_newest_first(desk):
    for year in (2026, 2027):
        build.SeasonFactory(name=str(year), first_day=f"{year}-01-04", last_day=f"{year}-12-17")
    assert [row["name"] for row in desk.rows("/api/seasons")] == ["2027", "2026"]


def test_it_prescribes_what_is_recommended(desk):
    world = world_build()
    desk.send("/api/estimates", {"on": "2026-12-01"})
    reply = desk.send(f"/api/seasons/{world.season.public_id}/prescribe")
    made = Prescription.objects.get()
    batch = ChoiceBatch.objects.get()
    told = {"count": 1, "prescriptions": [str(made.public_id)], "choice": str(batch.public_id)}
    assert (reply.status_code, reply.json()) == (201, told)
    assert desk.send(f"/api/seasons/{world.season.public_id}/prescribe").json()["count"] == 0


@pytest.fixture
def address():
    return f"/api/seasons/{build.SeasonFactory().public_id}"


def test_it_tells_the_usual_figures(desk, address):
    shown = desk.get(address).json()
    assert (shown["budget_level"], shown["budget_level_name"], shown["worth"]) == (0.5, "likely", {})
    assert shown["weights"] == asdict(Weights())


def test_it_holds_the_budget_at_a_named_level(desk, address):
    etag = desk.get(address).headers["ETag"]
    reply = desk.edit(f"{address}/budget-level", {"level": "cautious"}, etag=etag, method="put")
    assert (reply.status_code, reply.json()["budget_level"]) == (200, 0.8)
    assert reply.json() == desk.get(address).json()
    assert desk.edit(f"{address}/budget-level", {"level": "likely"}, etag=etag, method="put").status_code == 412


def test_it_says_what_work_is_worth(desk, address):
    etag = desk.get(address).headers["ETag"]
    shown = desk.edit(f"{address}/worth", {"seed": 20, "edge": 0}, etag=etag, method="put").json()
    assert shown["worth"] == {"seed": 20.0, "edge": 0.0}
    assert shown["weights"] == {**asdict(Weights()), "seed": 20.0, "edge": 0.0}
    assert desk.edit(f"{address}/worth", {}, etag="*", method="put").json()["worth"] == {}


@pytest.mark.parametrize(
    ("part", "body", "field"),
    [
        ("budget-level", {"level": "hopeful"}, "level"),
        ("budget-level", {}, "level"),
        ("worth", {"seed": -1}, "seed"),
        ("worth", {"seed": "8"}, "seed"),
        ("worth", {"luck": 1}, "luck"),
    ],
)
def test_it_names_a_wrong_setting(desk, address, part, body, field):
    reply = desk.edit(f"{address}/{part}", body, etag="*", method="put")
    assert (reply.status_code, error_fields(reply)) == (400, [field])


def test_it_takes_every_weight_that_there_is():
    assert list(WorthIn().fields) == [field.name for field in fields(Weights)]
