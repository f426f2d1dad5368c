"""Visits: all for the office, own orders' for a crew lead."""

from datetime import date

import pytest

from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


def test_it_tells_what_a_visit_serves(scene):
    (row,) = scene.as_("coordinator").rows("/api/visits")
    assert (row["day"], row["state"], row["crew"]["name"]) == ("2027-02-01", "ordered", "Hollow crew")
    assert [(share["patch"], share["method"]) for share in row["shares"]] == [("H-01", "hand-pull")]


def test_it_shows_a_lead_the_visits_of_own_issued_orders(scene):
    scene.issue()
    build.VisitFactory(crew=scene.world.crew, state="proposed")
    seen = {name: len(scene.as_(name).rows("/api/visits")) for name in ("lead", "mate", "stranger", "coordinator")}
    assert seen == {"lead": 1, "mate": 1, "stranger": 0, "coordinator": 2}


def test_it_shows_a_lead_nothing_of_a_draft(scene):
    assert scene.as_("lead").rows("/api/visits") == []


def test_it_filters(desk):
    row = build.VisitFactory(day=date(2027, 3, 1))
    build.VisitFactory(day=date(2027, 5, 1), state="done")
    queries = [
        f"season={row.season.public_id}",
        f"crew={row.crew.public_id}",
        f"site={row.site.public_id}",
        "state=planned",
        "day_to=2027-04-01",
        "day_from=2027-03-01&day_to=2027-03-01",
    ]
    found = [[found["id"] for found in desk.rows(f"/api/visits?{query}")] for query in queries]
    assert found == [[str(row.public_id)]] * len(queries)


def _address(scene):
    return f"/api/visits/{scene.visit.public_id}"


def test_it_shows_one_with_its_order(scene):
    shown = scene.as_("coordinator").get(_address(scene)).json()
    assert (shown["order"], shown["is_kept"], shown["because"]) == (scene.order.number, False, [])
    (listed,) = scene.as_("coordinator").rows("/api/visits")
    assert listed == shown


def test_it_shows_a_lead_one_of_own_issued_orders_only(scene):
    assert scene.as_("lead").get(_address(scene)).status_code == 404
    scene.issue()
    seen = {name: scene.as_(name).get(_address(scene)).status_code for name in ("lead", "stranger", "finance")}
    assert seen == {"lead": 200, "stranger": 404, "finance": 200}


def _preview(scene, crew, day):
    return scene.as_("coordinator").get(f"{_address(scene)}/move-preview?crew={crew.public_id}&day={day}")


def _move(scene, day, etag=None, **more):
    caller = scene.as_("coordinator")
    body = {"crew": str(scene.world.crew.public_id), "day": str(day), **more}
    return caller.edit(
        f"{_address(scene)}/move", body, etag=etag or caller.get(_address(scene)).headers["ETag"], method="put"
    )


NEXT_DAY, SUNDAY = date(2027, 2, 2), date(2027, 2, 7)


def test_it_previews_a_move_that_breaks_nothing(scene):
    reply = _preview(scene, scene.world.crew, NEXT_DAY)
    assert (reply.status_code, reply.json()) == (200, {"breaks": [], "is_refused": False, "needs_reason": False})


def test_it_tells_what_a_move_breaks(scene):
    shown = _preview(scene, scene.world.crew, SUNDAY).json()
    assert [(found["kind"], found["is_hard"]) for found in shown["breaks"]] == [("day off", False)]
    assert (shown["is_refused"], shown["needs_reason"]) == (False, True)


def test_it_refuses_a_move_to_nobody(scene):
    shown = _preview(scene, build.CrewFactory(name="Empty crew", people=0), NEXT_DAY).json()
    assert "nobody" in {found["kind"] for found in shown["breaks"]}
    assert (shown["is_refused"], shown["needs_reason"]) == (True, False)


@pytest.mark.parametrize(("query", "fields"), [("", ["crew", "day"]), ("?crew=7&day=now", ["crew", "day"])])
def test_it_names_what_is_wrong_with_a_preview(scene, query, fields):
    reply = scene.as_("coordinator").get(f"{_address(scene)}/move-preview{query}")
    assert (reply.status_code, error_fields(reply)) == (400, fields)


def test_it_moves_and_keeps_it_there(scene):
    reply = _move(scene, NEXT_DAY)
    assert reply.status_code == 200, reply.json()
    assert (reply.json()["day"], reply.json()["is_kept"]) == (str(NEXT_DAY), True)
    scene.order.refresh_from_db()
    assert (scene.order.first_day, scene.order.last_day) == (NEXT_DAY, NEXT_DAY)
    freed = scene.as_("coordinator").send(f"{_address(scene)}/free")
    assert (freed.status_code, freed.json()["is_kept"]) == (200, False)


def test_it_moves_only_what_was_read(scene):
    etag = scene.as_("coordinator").get(_address(scene)).headers["ETag"]
    _move(scene, NEXT_DAY)
    assert _move(scene, date(2027, 2, 3), etag=etag).status_code == 412


def test_it_needs_a_reason_for_what_it_breaks(scene):
    assert _move(scene, SUNDAY).status_code in {400, 409}
    reply = _move(scene, SUNDAY, reason="A volunteers' day.")
    assert (reply.status_code, reply.json()["day"]) == (200, str(SUNDAY))


def test_it_lets_no_lead_move_it(scene):
    scene.issue()
    reply = scene.as_("lead").edit(f"{_address(scene)}/move", {}, etag="*", method="put")
    assert (reply.status_code, reply.json()["code"]) == (403, "role_missing")


def test_it_filters_what_is_kept(desk):
    row = build.VisitFactory(is_kept=True)
    build.VisitFactory()
    assert [found["id"] for found in desk.rows("/api/visits?is_kept=true")] == [str(row.public_id)]
