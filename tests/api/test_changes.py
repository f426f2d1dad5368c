"""The feed of changes."""

from typing import Any

import pytest

from orders import corrections
from orders.common.models import Change
from tests.api.caller import error_fields
from tests.api.scene import statement

pytestmark = pytest.mark.django_db


def _feed(caller, after=0, limit=500):
    return caller.get(f"/api/changes?after={after}&limit={limit}").json()


def test_it_tells_the_desk_everything_in_order(scene):
    told = _feed(scene.as_("coordinator"))
    assert [row["place"] for row in told["results"]] == list(Change.objects.values_list("pk", flat=True))
    assert (told["last"], told["more"]) == (told["results"][-1]["place"], False)


def test_it_goes_on_from_a_place(scene):
    caller, after, more = scene.as_("coordinator"), 0, True
    found: list[dict[str, Any]] = []
    while more:
        told = _feed(caller, after, limit=3)
        found, after, more = found + told["results"], told["last"], told["more"]
    assert [row["place"] for row in found] == list(Change.objects.values_list("pk", flat=True))
    assert _feed(caller, after) == {"results": [], "last": after, "more": False}


def test_it_tells_a_lead_what_concerns_the_own_crew(scene):
    scene.issue()
    scene.as_("lead").send(f"{scene.address}/close", statement(scene.order))
    verbs = {name: {row["verb"] for row in _feed(scene.as_(name))["results"]} for name in ("lead", "mate", "stranger")}
    assert verbs["lead"] == verbs["mate"] == {"visit_settle", "order_issue", "order_close"}
    assert verbs["stranger"] == set()


def test_it_leaves_a_tombstone_where_an_order_leaves_the_crew(scene):
    scene.issue()
    corrections.reassign_order(order=scene.order, crew=scene.other_crew, stamp=scene.stamp(reason="A sick crew."))
    last = {name: _feed(scene.as_(name))["results"][-1] for name in ("lead", "stranger", "coordinator")}
    assert {name: row["gone"] for name, row in last.items()} == {"lead": True, "stranger": False, "coordinator": False}
    assert (last["lead"]["after"], last["lead"]["reason"]) == (None, "")
    assert last["stranger"]["after"] == {"crew": "Far crew"}
    assert last["lead"]["entity_id"] == str(scene.order.public_id)


@pytest.mark.parametrize(
    "query", ["after=-1", "after=x", "after=1.5", "limit=0", "limit=501", "after=٣", f"after={10**30}"]
)
def test_it_names_what_it_cannot_read(desk, query):
    reply = desk.get(f"/api/changes?{query}")
    assert (reply.status_code, error_fields(reply)) == (400, [query.split("=")[0]])


def test_it_tells_who_did_it_and_why(scene):
    scene.as_("coordinator").send(f"{scene.address}/void", {"reason": "The land was sold."})
    row = next(row for row in _feed(scene.as_("finance"))["results"] if row["verb"] == "order_void")
    assert (row["actor"]["name"], row["reason"], row["entity"]) == ("coordinator", "The land was sold.", "workorder")
