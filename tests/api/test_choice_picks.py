"""Choices of several methods over HTTP, the table that they are picked from, and the whole season's."""

import pytest

from orders.planning.models import ChoiceBatch, Prescription
from tests.api.caller import error_fields
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground():
    return ground_build()


def _picks(ground, **more):
    picks = [
        {"patch": str(ground.wide.public_id), "method": "spot-foliar"},
        {"patch": str(ground.other.public_id), "method": "dormant-foliar"},
    ]
    return {"season": str(ground.world.season.public_id), "picks": picks, **more}


def test_it_makes_several_methods_as_one_choice(desk, ground):
    body = _picks(ground, why="A class works there.")
    seen = desk.post("/api/choices/preview", body, format="json").json()
    assert [row["method"] for row in seen["rows"]] == ["spot-foliar", "dormant-foliar"]
    reply = desk.send("/api/choices", {**body, "fingerprint": seen["fingerprint"]})
    assert (reply.status_code, reply.json()["method"]) == (201, None)
    assert ChoiceBatch.objects.count() == 1


def test_it_takes_a_choice_away(desk, ground):
    ground.choose("dormant-foliar", ground.wide)
    picks = [{"patch": str(ground.wide.public_id), "method": "none"}]
    body = _picks(ground, why="The creek has it.") | {"picks": picks}
    seen = desk.post("/api/choices/preview", body, format="json").json()
    assert [row["clears"] for row in seen["rows"]] == [True]
    assert desk.send("/api/choices", {**body, "fingerprint": seen["fingerprint"]}).status_code == 201
    assert set(Prescription.objects.values_list("state", flat=True)) == {"dropped"}


@pytest.mark.parametrize(("more", "field"), [({"method": "spot-foliar"}, "picks"), ({"picks": None}, "picks")])
def test_it_wants_one_way_of_asking(desk, ground, more, field):
    reply = desk.post("/api/choices/preview", {**_picks(ground), **more}, format="json")
    assert (reply.status_code, error_fields(reply)) == (400, [field])


def test_it_wants_a_method_or_picks(desk, ground):
    reply = desk.post("/api/choices/preview", {"season": str(ground.world.season.public_id)}, format="json")
    assert (reply.status_code, error_fields(reply)) == (400, ["method"])


def test_it_lays_every_method_beside_every_patch(desk, ground):
    body = {"season": str(ground.world.season.public_id), "where": {"text": "h-02"}}
    (shown,) = desk.post("/api/choices/methods", body, format="json").json()["patches"]
    assert shown["patch"]["code"] == "H-02"
    by_method = {row["method"]: row for row in shown["methods"]}
    assert by_method["dormant-foliar"]["is_recommended"]
    assert by_method["dormant-foliar"]["hours_likely"] > 0
    assert by_method["cut-stem"]["refused"]


def test_the_season_is_shown_and_prescribed_as_a_choice(desk, ground):
    address = f"/api/seasons/{ground.world.season.public_id}/prescribe"
    assert len(desk.get(address).json()["rows"]) == 3
    assert not Prescription.objects.exists()
    made = desk.send(address).json()
    assert made["choice"] == str(ChoiceBatch.objects.get().public_id)
    assert desk.send(address).json() == {"count": 0, "prescriptions": [], "choice": None}


def test_a_season_is_changed(desk, ground):
    address = f"/api/seasons/{ground.world.season.public_id}"
    etag = desk.get(address).headers["ETag"]
    reply = desk.edit(address, {"name": "Named anew", "level": "cautious"}, etag=etag)
    assert (reply.status_code, reply.json()["name"], reply.json()["budget_level"]) == (200, "Named anew", 0.8)
