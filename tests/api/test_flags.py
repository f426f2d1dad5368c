"""Flags: who sees which, what may come of each, and two close-outs side by side."""

from random import Random

import pytest

from orders.field.models import Flag
from orders.workorders.models import CloseOut
from tests import build
from tests.api.caller import Caller, error_fields, tablet_line
from tests.api.fake_tablet import FakeTablet
from tests.api.scene import statement

pytestmark = pytest.mark.django_db


@pytest.fixture
def held(scene):
    """Two leads closed one order."""
    order = scene.issue()
    for name in ("lead", "mate"):
        tablet = FakeTablet(tablet_line(scene.users[name]), scene.users[name].public_id, Random(name))
        tablet.close(order.public_id, statement(order, minutes=300 if name == "lead" else 240))
        tablet.sync()
    return Flag.objects.get(kind="held")


def test_it_lists_and_filters(desk):
    flag = build.FlagFactory(severity="urgent", crew=build.CrewFactory())
    build.FlagFactory(severity="note")
    assert len(desk.rows("/api/flags")) == 2
    (row,) = desk.rows(f"/api/flags?severity=urgent&state=open&crew={flag.crew.public_id}")
    assert (row["id"], row["title"]) == (str(flag.public_id), flag.title)


def test_it_shows_each_role_its_own():
    build.FlagFactory(for_roles=["pesticide_supervisor"])
    build.FlagFactory()
    assert len(Caller(build.UserFactory(roles=["pesticide_supervisor"])).rows("/api/flags")) == 1
    assert Caller(build.UserFactory(roles=["crew_lead"])).rows("/api/flags") == []


def test_it_says_what_may_come_of_it(desk, held):
    told = desk.get(f"/api/flags/{held.public_id}").json()
    assert told["resolutions"] == ["take_instead", "put_aside"]


def test_it_shows_two_close_outs_side_by_side(desk, held):
    told = desk.get(f"/api/flags/{held.public_id}/sides").json()
    differing = {line["group"]: (line["standing"], line["held"]) for line in told["lines"] if line["differs"]}
    assert differing == {"people": ("300", "240")}
    assert told["standing_by"] == "lead"


def test_it_has_no_sides_where_there_is_one(desk):
    assert desk.get(f"/api/flags/{build.FlagFactory().public_id}/sides").status_code == 404


def test_it_settles(desk, held):
    address = f"/api/flags/{held.public_id}/settle"
    refused = desk.send(address, {"resolution": "seen", "note": "Well."})
    assert (refused.status_code, error_fields(refused)) == (400, ["resolution"])
    reply = desk.send(address, {"resolution": "take_instead", "note": "The mate's clock is right."})
    assert (reply.status_code, reply.json()["state"], reply.json()["resolutions"]) == (200, "settled", [])
    assert CloseOut.objects.count() == 2
    assert desk.send(address, {"resolution": "put_aside", "note": "Again."}).status_code == 409


def test_it_is_settled_by_the_office_alone(scene, held):
    reply = scene.as_("lead").send(f"/api/flags/{held.public_id}/settle", {"resolution": "put_aside", "note": "Mine."})
    assert reply.status_code == 403
