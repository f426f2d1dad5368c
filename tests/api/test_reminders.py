"""Deadlines and notices."""

from datetime import date

import pytest

from orders.common.models import RememberedReply
from orders.reminders.models import ReminderStep
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


def test_it_lists_deadlines_of_every_kind_with_what_they_are_of(desk):
    order = build.WorkOrderFactory(number=31)
    facts = {"order": order, "site": order.site, "title": "Work order 31"}
    build.DeadlineFactory(plain=True, kind="close", due_on=date(2027, 8, 9), **facts)
    build.DeadlineFactory(due_on=date(2027, 8, 10))
    (row,) = desk.rows("/api/deadlines?kind=close,stock")
    assert (row["kind"], row["title"], row["order"]["number"]) == ("close", "Work order 31", 31)
    assert (row["site"]["id"], row["patch"], row["growth_form"]) == (str(order.site.public_id), None, None)


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


SNOOZED = "2026-12-04T13:00:00Z"


def test_it_is_put_off_by_whom_it_told(told):
    notice = build.NoticeFactory(user=told)
    reply = Caller(told).send(f"/api/notices/{notice.public_id}/snooze", {"until": SNOOZED})
    assert (reply.status_code, reply.json()["snoozed_until"]) == (200, SNOOZED)


def test_it_is_not_put_off_for_months(told):
    notice = build.NoticeFactory(user=told)
    reply = Caller(told).send(f"/api/notices/{notice.public_id}/snooze", {"until": "2027-03-01T13:00:00Z"})
    assert (reply.status_code, reply.json()["errors"][0]["field"]) == (400, "until")


def test_it_lists_the_schedule_with_its_sources(lead):
    rows = lead.rows("/api/reminder-steps?kind=record")
    assert {row["kind"] for row in rows} == {"record"}
    assert all(row["source"] for row in rows)


def step_address():
    return f"/api/reminder-steps/{ReminderStep.objects.get(kind='seed', code='four-weeks').public_id}"


def edit(caller, address, body):
    seen = caller.get(address).headers["ETag"]
    return caller.patch(address, body, format="json", headers={"If-Match": seen})


def test_it_edits_a_step(desk):
    reply = edit(desk, step_address(), {"days_before": 35, "local_time": "07:30", "to_supervisors": True})
    shown = reply.json()
    assert (reply.status_code, shown["days_before"], shown["local_time"]) == (200, 35, "07:30")


@pytest.mark.parametrize(
    ("body", "field"),
    [({"days_before": 14}, ""), ({"to_coordinators": False}, "to_coordinators"), ({"text": ""}, "text")],
)
def test_it_refuses_a_step_that_cannot_be(desk, body, field):
    reply = edit(desk, step_address(), body)
    assert reply.status_code == 400
    assert [error["field"] for error in reply.json()["errors"]] == [field]


def test_it_keeps_ones_own_choice(lead):
    body = {"time_zone": "America/Chicago", "quiet_from": "20:00", "quiet_until": "07:30"}
    reply = edit(lead, "/api/reminder-preference", body)
    assert (reply.status_code, reply.json()["quiet_from"], reply.json()["digest_above"]) == (200, "20:00", 5)
    again = edit(lead, "/api/reminder-preference", {"digest_above": 1})
    assert (again.json()["digest_above"], again.json()["quiet_until"]) == (1, "07:30")


@pytest.mark.parametrize("body", [{"time_zone": "Here"}, {"quiet_from": "20:00"}, {"digest_above": -1}])
def test_it_refuses_a_choice_that_cannot_be(lead, body):
    assert edit(lead, "/api/reminder-preference", body).status_code == 400


def test_it_makes_shows_and_closes_the_calendars_address(lead, client):
    assert lead.get("/api/calendar-feed").json() == {"made_at": None}
    made = lead.send("/api/calendar-feed")
    address = made.json()["address"]
    assert (made.status_code, client.get(address).status_code) == (201, 200)
    assert lead.get("/api/calendar-feed").json()["made_at"].startswith("2026-12-01T15:00:00")
    assert lead.send("/api/calendar-feed/revoke").json() == {"was_open": True}
    assert client.get(address).status_code == 404


def test_it_remembers_no_reply_that_holds_the_secret(lead):
    first, second = lead.send("/api/calendar-feed"), lead.send("/api/calendar-feed")
    assert first.json()["address"] != second.json()["address"]
    assert not RememberedReply.objects.exists()
