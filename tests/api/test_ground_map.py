"""The map for programs that draw their own, and what is wanted of many patches at once."""

from uuid import uuid4

import pytest

from orders.common.models import Change
from orders.sites.models import Patch
from tests import build
from tests.api.caller import Caller, error_fields
from tests.desk.pages.ground.map_world import map_build

pytestmark = pytest.mark.django_db
BOX = "west=-86.41&south=38.29&east=-86.3&north=38.31"


@pytest.fixture
def world():
    return map_build()


def _ids(patches):
    return [str(patch.public_id) for patch in patches]


def test_it_names_patches_by_their_ids(desk, world):
    said = desk.get(f"/api/map?by=order&season={world.season.public_id}").json()
    assert sorted(said["id"]) == sorted(_ids(world.patches))
    classes = [one["key"] for one in said["classes"]]
    at = said["class"][said["id"].index(str(world.patch(0).public_id))]
    assert classes[at] == "issued"
    assert "n" not in said


def test_it_knows_no_choices_without_a_season(desk, world):
    said = desk.get("/api/map?by=order").json()
    assert {said["classes"][at]["key"] for at in said["class"]} == {"none"}


def test_it_narrows_by_shares_and_codes(desk, world):
    assert desk.get("/api/map?site=CEDAR&cover_from=0.4").json()["code"] == ["M-005"]


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("by=color", "by"),
        ("cover_from=40", "cover_from"),
        ("cover_to=nan", "cover_to"),
        ("seed_from=soon", "seed_from"),
        ("season=1", "season"),
        ("page=2", "page"),
    ],
)
def test_it_refuses_what_it_cannot_read(desk, query, field):
    reply = desk.get(f"/api/map?{query}")
    assert (reply.status_code, error_fields(reply)) == (400, [field])


def test_it_is_known_to_who_has_it_until_something_is_written(desk, world):
    edit = {"patches": _ids(world.patches[:1]), "control_state": "eradicated", "reason": "None for two years"}
    assert desk.send("/api/patches/edits", edit).status_code == 201
    tag = desk.get("/api/map").headers["ETag"]
    assert desk.get("/api/map", headers={"If-None-Match": tag}).status_code == 304
    assert desk.get("/api/map?by=state", headers={"If-None-Match": tag}).status_code == 200
    again = {**edit, "patches": _ids(world.patches[1:2])}
    assert desk.send("/api/patches/edits", again).status_code == 201
    assert desk.get("/api/map", headers={"If-None-Match": tag}).status_code == 200


def test_it_gives_outlines_of_a_box(desk, world):
    said = desk.get(f"/api/map/outlines?{BOX}&zoom=16").json()
    assert sorted(said["id"]) == sorted(_ids(world.patches))
    assert said["is_all"] is True
    assert all(len(ring) == 8 for rings in said["rings"] for ring in rings)


@pytest.mark.parametrize(
    ("query", "field"),
    [
        (BOX, "zoom"),
        (f"{BOX}&zoom=30", "zoom"),
        ("west=2&east=1&south=1&north=2&zoom=12", "east"),
        (f"{BOX}&zoom=a", "zoom"),
    ],
)
def test_it_refuses_a_box_or_a_zoom_that_is_none(desk, query, field):
    reply = desk.get(f"/api/map/outlines?{query}")
    assert (reply.status_code, error_fields(reply)) == (400, [field])


def test_it_changes_many_patches_and_puts_them_back(desk, world):
    edit = {"patches": _ids(world.patches), "target_cover": 0.02, "reason": "Rare plants beside them"}
    reply = desk.send("/api/patches/edits", edit)
    assert (reply.status_code, reply.json()["patches"], reply.json()["unchanged"]) == (201, 6, 0)
    assert set(Patch.objects.values_list("target_cover", flat=True)) == {0.02}
    undo = f"/api/patches/edits/{reply.json()['id']}/undo"
    assert desk.send(undo).json() == {"patches": 6}
    assert set(Patch.objects.values_list("target_cover", flat=True)) == {0.15}
    assert desk.send(undo).status_code == 409
    assert desk.send(f"/api/patches/edits/{uuid4()}/undo").status_code == 404


def test_it_changes_none_where_one_is_not_there(desk, world):
    edit = {"patches": [*_ids(world.patches[:1]), str(uuid4())], "control_state": "maintenance", "reason": "x"}
    reply = desk.send("/api/patches/edits", edit)
    assert (reply.status_code, error_fields(reply)) == (400, ["patches[1]"])
    assert not Change.objects.filter(verb="patches_edit").exists()


@pytest.mark.parametrize(("role", "reads", "writes"), [("finance", 200, 403), ("crew_lead", 403, 403)])
def test_it_opens_to_the_office_and_changes_for_the_desk(world, role, reads, writes):
    caller = Caller(build.UserFactory(roles=[role]))
    assert caller.get("/api/map").status_code == reads
    assert caller.get(f"/api/map/outlines?{BOX}&zoom=12").status_code == reads
    edit = {"patches": _ids(world.patches[:1]), "control_state": "maintenance", "reason": "x"}
    assert caller.send("/api/patches/edits", edit).status_code == writes
