"""Deadlines and notices."""

from datetime import date

import pytest

from tests import build
from tests.api.caller import Caller

pytestmark = pytest.mark.django_db


def test_it_lists_deadlines_by_due_day(desk):
    for day in (20, 10):
        build.DeadlineFactory(due_on=date(2027, 8, day), because="Fruit from September 1.")
    rows = desk.rows("/api/deadlines")
    assert [row["due_on"] for row in rows] == ["2027-08-10", "2027-08-20"]
    assert (rows[0]["species"]["code"], rows[0]["growth_form"]) == ("EUFO", "climbing")


def test_it_filters_deadlines(desk):
    row = build.DeadlineFactory(due_on=date(2027, 8, 10))
    build.DeadlineFactory(due_on=date(2026, 8, 10), year=2026, state="missed")
    queries = [
        "state=open,late",
        "year=2027",
        "due_from=2027-01-01",
        "due_to=2027-08-10&year=2027",
        f"patch={row.patch.public_id}",
        f"site={row.patch.site.public_id}",
    ]
    found = [[found["id"] for found in desk.rows(f"/api/deadlines?{query}")] for query in queries]
    assert found == [[str(row.public_id)]] * len(queries)


def test_it_shows_a_lead_the_deadlines_of_own_orders(scene):
    scene.issue()
    build.DeadlineFactory(patch=scene.world.patch)
    build.DeadlineFactory()
    seen = {name: len(scene.as_(name).rows("/api/deadlines")) for name in ("coordinator", "lead", "mate", "stranger")}
    assert seen == {"coordinator": 2, "lead": 1, "mate": 1, "stranger": 0}


@pytest.fixture
def told():
    return build.UserFactory(username="told", roles=["crew_lead"])


def test_it_shows_people_their_own_notices(told, lead, desk):
    build.NoticeFactory(user=told, subject="Cut before fruit")
    seen = [[row["subject"] for row in caller.rows("/api/notices")] for caller in (Caller(told), lead, desk)]
    assert seen == [["Cut before fruit"], [], ["Cut before fruit"]]


def test_it_is_acknowledged_by_whom_it_told(told):
    notice = build.NoticeFactory(user=told)
    reply = Caller(told).send(f"/api/notices/{notice.public_id}/acknowledge")
    assert (reply.status_code, reply.json()["acknowledged_at"][:10]) == (200, "2026-12-01")
    assert Caller(told).rows("/api/notices?acknowledged=false") == []


def test_it_is_hidden_from_everybody_else(told, lead):
    notice = build.NoticeFactory(user=told)
    assert lead.send(f"/api/notices/{notice.public_id}/acknowledge").status_code == 404


def test_it_is_not_acknowledged_for_somebody_else(told, desk):
    notice = build.NoticeFactory(user=told)
    reply = desk.send(f"/api/notices/{notice.public_id}/acknowledge")
    assert reply.status_code in {403, 409}
    notice.refresh_from_db()
    assert notice.acknowledged_at is None
