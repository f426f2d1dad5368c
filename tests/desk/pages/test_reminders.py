"""The pages of reminders: one's own list, deadlines, own settings, the calendar's address and the schedule."""

from datetime import date, datetime, time, timedelta

import pytest
from django.urls import reverse

from orders.common.clock import now
from orders.reminders.models import CalendarFeed, Notice, ReminderPreference, ReminderStep
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def told(crew_lead):
    return build.NoticeFactory(user=crew_lead, subject="Window closing: cutting, HOLLOW P1")


@pytest.fixture
def as_lead(client, crew_lead):
    client.force_login(crew_lead)
    return client


@pytest.fixture
def as_coordinator(client, coordinator):
    client.force_login(coordinator)
    return client


def shown(client, query=""):
    return client.get(f"/reminders/{query}").content.decode()


def test_it_shows_ones_own_and_nobody_elses(as_lead, told):
    build.NoticeFactory(subject="For somebody else")
    page = shown(as_lead)
    assert told.subject in page
    assert "For somebody else" not in page


def test_it_counts_what_is_open_in_the_head(as_lead, told):
    assert "1 open reminder<" in shown(as_lead, "?q=nothing-of-that-name")
    Notice.objects.update(acknowledged_at=told.made_at)
    assert 'open<span class="only-heard">' not in shown(as_lead)


def test_it_acknowledges(as_lead, told):
    reply = as_lead.post(reverse("reminder-acknowledge", args=[told.public_id]))
    assert reply.url == "/reminders/"
    assert Notice.objects.get().acknowledged_at
    assert told.subject not in shown(as_lead)
    assert told.subject in shown(as_lead, "?state=acknowledged")


def test_it_puts_off_to_a_morning(as_lead, told):
    as_lead.post(reverse("reminder-snooze", args=[told.public_id]), {"days": "3"})
    until = Notice.objects.get().snoozed_until
    assert until
    assert timedelta(days=2) < until - now() < timedelta(days=4)
    assert told.subject in shown(as_lead, "?state=snoozed")
    assert told.subject not in shown(as_lead)


@pytest.mark.parametrize("days", ["0", "40", "soon"])
def test_it_refuses_a_stretch_that_it_does_not_offer(as_lead, told, days):
    assert as_lead.post(reverse("reminder-snooze", args=[told.public_id]), {"days": days}).status_code == 400
    assert Notice.objects.get().snoozed_until is None


def test_it_answers_for_nobody_else(as_coordinator, told):
    assert as_coordinator.post(reverse("reminder-acknowledge", args=[told.public_id])).status_code == 403


@pytest.mark.parametrize(
    ("query", "found"),
    [("", True), ("?kind=seed", True), ("?kind=stock", False), ("?q=HOLLOW", True), ("?q=x9", False)],
)
def test_it_narrows_the_list(as_lead, told, query, found):
    assert (told.subject in shown(as_lead, query)) is found


def test_it_asks_the_database_as_often_for_many_as_for_few(as_lead, crew_lead, django_assert_max_num_queries):
    build.NoticeFactory(user=crew_lead)
    with django_assert_max_num_queries(12) as few:
        shown(as_lead)
    build.NoticeFactory.create_batch(8, user=crew_lead)
    with django_assert_max_num_queries(len(few.captured_queries)):
        shown(as_lead)


@pytest.mark.parametrize(
    ("query", "titles"),
    [
        ("", ["Order 7", "Wintercreeper"]),
        ("?kind=close", ["Order 7"]),
        ("?state=met", ["Stock of Blue"]),
        ("?state=all&q=blue", ["Stock of Blue"]),
    ],
)
def test_it_lists_deadlines_with_their_reason(as_coordinator, query, titles):
    build.DeadlineFactory(title="Wintercreeper", because="Fruit from September 1.")
    build.DeadlineFactory(plain=True, kind="close", title="Order 7", state="missed", because="Its last visit is over.")
    build.DeadlineFactory(plain=True, kind="stock", title="Stock of Blue", state="met", done_on=date(2027, 8, 1))
    page = as_coordinator.get(f"/reminders/deadlines/{query}").content.decode()
    known = ["Order 7", "Wintercreeper", "Stock of Blue"]
    assert [title for title in known if f">{title}<" in page] == [title for title in known if title in titles]


def test_it_shows_a_lead_no_deadlines_of_others(as_lead):
    build.DeadlineFactory(title="Wintercreeper")
    assert "Nothing is owed" in as_lead.get("/reminders/deadlines/").content.decode()


CHOICE = {"time_zone": "America/Chicago", "quiet_from": "20:00", "quiet_until": "07:30", "digest_above": "2"}


def test_it_keeps_ones_own_choice(as_lead, crew_lead):
    assert as_lead.post("/reminders/settings/", CHOICE).status_code == 302
    kept = ReminderPreference.objects.get(user=crew_lead)
    assert (kept.time_zone, kept.quiet_from, kept.digest_above) == ("America/Chicago", time(20), 2)


@pytest.mark.parametrize("wrong", [{"time_zone": "Here"}, {"quiet_until": ""}, {"digest_above": "-1"}])
def test_it_says_what_is_wrong_with_a_choice_and_keeps_nothing(as_lead, wrong):
    reply = as_lead.post("/reminders/settings/", {**CHOICE, **wrong})
    assert reply.status_code == 400
    assert "notice trouble" in reply.content.decode()
    assert not ReminderPreference.objects.exists()


def feed_address(client):
    page = client.post("/reminders/settings/calendar/").content.decode()
    return page.split("<code>")[1].split("</code>")[0]


def test_it_shows_the_calendars_address_once(as_lead, client):
    address = feed_address(as_lead)
    assert "<code>" not in as_lead.get("/reminders/settings/").content.decode()
    client.logout()
    reply = client.get(address)
    assert (reply.status_code, reply["Content-Type"]) == (200, "text/calendar; charset=utf-8")
    assert reply.content.startswith(b"BEGIN:VCALENDAR\r\n")


def test_it_keeps_no_secret_in_the_clear(as_lead):
    secret = feed_address(as_lead).rsplit("/", 1)[1].removesuffix(".ics")
    assert CalendarFeed.objects.filter(secret_hash__contains=secret).count() == 0


def test_it_closes_the_address(as_lead):
    address = feed_address(as_lead)
    as_lead.post("/reminders/settings/calendar/close/")
    assert as_lead.get(address).status_code == 404


def test_it_closes_the_address_before_when_it_makes_a_new_one(as_lead):
    first, second = feed_address(as_lead), feed_address(as_lead)
    assert [as_lead.get(address).status_code for address in (first, second)] == [404, 200]


def test_it_closes_the_address_of_a_person_who_may_not_log_in_any_more(as_lead, crew_lead):
    address = feed_address(as_lead)
    type(crew_lead).objects.filter(pk=crew_lead.pk).update(is_active=False)
    assert as_lead.get(address).status_code == 404


def test_it_sends_the_calendar_again_only_when_it_has_changed(as_lead):
    address = feed_address(as_lead)
    seen = as_lead.get(address)["ETag"]
    assert as_lead.get(address, headers={"If-None-Match": seen}).status_code == 304
    assert as_lead.get(address, headers={"If-None-Match": '"other"'}).status_code == 200


def test_it_shows_the_schedule_with_its_sources_and_where_the_rules_are(as_coordinator):
    page = as_coordinator.get("/reminders/schedule/").content.decode()
    for said in ("Four weeks left.", "3 days after, at 8 a.m.", "/records/rules/", "the label", "at once"):
        assert said.lower() in page.lower()


def edited(step, **changed):
    sent = {"days_before": step.days_before, "local_time": f"{step.local_time:%H:%M}", "text": step.text}
    sent |= {"to_coordinators": "on", "is_active": "on", "version": step.version}
    return {**sent, **changed}


@pytest.fixture
def step():
    return ReminderStep.objects.get(kind="seed", code="four-weeks")


def test_it_changes_a_step(as_coordinator, step):
    reply = as_coordinator.post(f"/reminders/schedule/{step.public_id}/", edited(step, days_before="35"))
    assert reply.status_code == 302
    assert ReminderStep.objects.get(pk=step.pk).days_before == 35


@pytest.mark.parametrize("wrong", [{"days_before": "14"}, {"days_before": "x"}, {"to_coordinators": ""}])
def test_it_says_what_is_wrong_with_a_step_and_changes_nothing(as_coordinator, step, wrong):
    sent = {name: value for name, value in edited(step, **wrong).items() if value != ""}
    assert as_coordinator.post(f"/reminders/schedule/{step.public_id}/", sent).status_code == 400
    assert ReminderStep.objects.get(pk=step.pk).version == step.version


def test_it_refuses_a_step_that_somebody_else_changed_meanwhile(as_coordinator, step):
    reply = as_coordinator.post(f"/reminders/schedule/{step.public_id}/", edited(step, text="New words", version="7"))
    assert reply.status_code == 412


def test_it_lets_no_crew_lead_see_or_change_the_schedule(as_lead, step):
    assert as_lead.get("/reminders/schedule/").status_code == 403
    assert as_lead.post(f"/reminders/schedule/{step.public_id}/", edited(step)).status_code == 403


def test_it_says_by_when_something_was_told(as_lead, told):
    Notice.objects.update(made_at=datetime.fromisoformat("2027-08-04T12:00:00+00:00"))
    assert "told Aug 4, 2027" in shown(as_lead)
