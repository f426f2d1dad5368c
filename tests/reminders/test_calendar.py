"""The calendar that other programs subscribe to: its text by RFC 5545, and what changes in it when plans change."""

from datetime import UTC, date, datetime, timedelta

import pytest
from icalendar import Calendar

from orders.common.stamp import Stamp
from orders.crews.models import CrewMembership
from orders.planning.models import Visit
from orders.reminders.calendar_text import calendar_text
from orders.reminders.models import CalendarItem, Deadline
from orders.reminders.selectors import calendar_items
from orders.reminders.services import calendar_feed_make, calendar_feed_revoke, calendars_refresh, reminders_run
from orders.sites.models import Site
from tests import build
from tests.reminders.build import crew_with_lead

pytestmark = pytest.mark.django_db

AT = datetime(2027, 2, 1, 15, tzinfo=UTC)
DAY = date(2027, 2, 10)
OCTETS = 75  # RFC 5545, 3.1


def item(**facts):
    shown = {"uid": "visit.1@fencerow.invalid", "day": DAY, "summary": "Hollow Run, North crew", "sequence": 2}
    return CalendarItem(**{**shown, "added_at": AT, "changed_at": AT + timedelta(days=1), **facts})


def lines(*items):
    text = calendar_text("Fencerow: L. Lead", items)
    assert text.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in text.replace(b"\r\n", b"")  # 3.1: CRLF and nothing else ends a line
    return text.removesuffix(b"\r\n").split(b"\r\n")


def unfolded(*items):
    return b"\r\n".join(lines(*items)).replace(b"\r\n ", b"").decode().split("\r\n")


def test_it_is_one_calendar_of_version_two_that_is_published():
    """RFC 5545, 3.4, 3.6, 3.7; NAME and REFRESH-INTERVAL are RFC 7986's."""
    found = unfolded()
    assert (found[0], found[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    for once in ("VERSION:2.0", "METHOD:PUBLISH", "NAME:Fencerow: L. Lead", "REFRESH-INTERVAL;VALUE=DURATION:PT1H"):
        assert found.count(once) == 1
    assert sum(line.startswith("PRODID:") for line in found) == 1


def test_it_has_what_an_event_needs():
    """RFC 5545, 3.6.1: UID and DTSTAMP in UTC, DTSTART; a day alone is a DATE, and its end the next day (3.8.2.2)."""
    found = unfolded(item())
    for said in (
        "UID:visit.1@fencerow.invalid",
        "SEQUENCE:2",
        "DTSTAMP:20270202T150000Z",
        "CREATED:20270201T150000Z",
        "LAST-MODIFIED:20270202T150000Z",
        "DTSTART;VALUE=DATE:20270210",
        "DTEND;VALUE=DATE:20270211",
        "SUMMARY:Hollow Run\\, North crew",
        "STATUS:CONFIRMED",
    ):
        assert found.count(said) == 1
    assert "BEGIN:VALARM" not in found


def test_it_has_an_alarm_with_what_it_needs_for_a_deadline():
    """RFC 5545, 3.6.6: ACTION, TRIGGER and, to be displayed, DESCRIPTION; each once."""
    found = unfolded(item(has_alarm=True))
    alarm = found[found.index("BEGIN:VALARM") : found.index("END:VALARM")]
    assert sorted(alarm[1:]) == ["ACTION:DISPLAY", "DESCRIPTION:Hollow Run\\, North crew", "TRIGGER:-PT15H"]


def test_it_marks_what_was_cancelled_and_takes_its_alarm_away():
    found = unfolded(item(has_alarm=True, cancelled_at=AT))
    assert "STATUS:CANCELLED" in found
    assert "BEGIN:VALARM" not in found


@pytest.mark.parametrize("text", ["é" * 200, "x" * 300, "树" * 90, "a" + "é树🌿" * 60])
def test_it_folds_lines_by_octets_and_splits_no_character(text):
    folded = lines(item(summary=text))
    assert max(len(line) for line in folded) <= OCTETS
    for line in folded:
        line.decode()  # a character that was split would not be read
    assert f"SUMMARY:{text}" in unfolded(item(summary=text))


def test_it_escapes_text():
    """RFC 5545, 3.3.11."""
    found = unfolded(item(description="One; two, three\\four\nfive"))
    assert "DESCRIPTION:One\\; two\\, three\\\\four\\nfive" in found


def test_it_is_read_back_as_it_was_written():
    text = calendar_text("Ours", [item(description="One; two, three\\four\nfive", has_alarm=True)])
    (event,) = Calendar.from_ical(text).walk("VEVENT")
    assert (str(event["SUMMARY"]), str(event["DESCRIPTION"])) == (
        "Hollow Run, North crew",
        "One; two, three\\four\nfive",
    )
    assert (event.decoded("DTSTART"), event.decoded("DTEND")) == (DAY, DAY + timedelta(days=1))


@pytest.mark.parametrize("day", [date(2026, 11, 1), date(2026, 3, 8)])
def test_it_keeps_its_day_on_the_days_when_clocks_change(day):
    (event,) = Calendar.from_ical(calendar_text("Ours", [item(day=day)])).walk("VEVENT")
    assert (event.decoded("DTSTART"), event.decoded("DTEND") - event.decoded("DTSTART")) == (day, timedelta(days=1))


@pytest.fixture
def crew():
    return crew_with_lead()


@pytest.fixture
def lead(crew):
    return crew.memberships.get().person.user


@pytest.fixture
def visit(crew):
    site = build.SiteFactory(name="Hollow Run")
    asked = build.PrescriptionFactory(patch__site=site, patch__code="HR-7")
    visit = build.VisitFactory(site=site, crew=crew, day=DAY, state="ordered", prescriptions=[asked])
    build.WorkOrderFactory(crew=crew, site=site, state="issued", number=31, visits=[visit], last_day=DAY)
    return visit


def stamp(at=AT, by=None):
    return Stamp(by=by, at=at)


def items(user, at=AT):
    return [(row.summary, row.day, row.sequence, row.cancelled_at) for row in calendar_items(user, at=at)]


def test_it_shows_a_lead_the_visits_of_own_crews(lead, visit):
    build.VisitFactory(day=DAY, state="ordered")
    calendar_feed_make(user=lead, stamp=stamp())
    row = CalendarItem.objects.get(uid__startswith="visit.")
    assert (row.user, row.summary, row.day, row.location) == (lead, f"Hollow Run, {visit.crew}", DAY, "Hollow Run")
    assert row.description == "Work order 31\nHR-7: Cut"


@pytest.mark.parametrize("state", ["draft", "void"])
def test_it_shows_no_visit_of_an_order_that_is_not_issued(lead, visit, state):
    type(visit.order_visit.order).objects.update(state=state)
    calendar_feed_make(user=lead, stamp=stamp())
    assert items(lead) == []


def test_it_shows_no_visit_from_before_or_after_a_person_was_on_the_crew(lead, visit):
    CrewMembership.objects.update(last_day=DAY - timedelta(days=1))
    calendar_feed_make(user=lead, stamp=stamp())
    assert items(lead) == []


def test_it_raises_the_sequence_with_each_change_and_keeps_the_uid(lead, visit):
    calendar_feed_make(user=lead, stamp=stamp())
    uid = CalendarItem.objects.get().uid
    Visit.objects.filter(pk=visit.pk).update(day=DAY + timedelta(days=2))
    calendars_refresh(stamp=stamp(AT + timedelta(hours=1)))
    row = CalendarItem.objects.get(uid=uid)
    assert (row.day, row.sequence, row.changed_at) == (DAY + timedelta(days=2), 1, AT + timedelta(hours=1))
    Site.objects.update(name="Hollow Run West")
    calendars_refresh(stamp=stamp(AT + timedelta(hours=2)))
    assert CalendarItem.objects.get(uid=uid).sequence == 2


def test_it_changes_nothing_where_nothing_has_changed(lead, visit):
    calendar_feed_make(user=lead, stamp=stamp())
    before = list(CalendarItem.objects.values())
    assert calendars_refresh(stamp=stamp(AT + timedelta(days=1))) == 0
    assert list(CalendarItem.objects.values()) == before


def test_it_keeps_what_was_cancelled_for_sixty_days(lead, visit):
    calendar_feed_make(user=lead, stamp=stamp())
    Visit.objects.filter(pk=visit.pk).update(state="dropped")
    calendars_refresh(stamp=stamp())
    assert items(lead) == [(f"Hollow Run, {visit.crew}", DAY, 1, AT)]
    assert items(lead, AT + timedelta(days=60))
    assert items(lead, AT + timedelta(days=60, seconds=1)) == []


def test_it_shows_again_what_comes_back(lead, visit):
    calendar_feed_make(user=lead, stamp=stamp())
    for state in ("dropped", "ordered"):
        Visit.objects.filter(pk=visit.pk).update(state=state)
        calendars_refresh(stamp=stamp())
    assert items(lead) == [(f"Hollow Run, {visit.crew}", DAY, 2, None)]


def test_it_shows_deadlines_to_those_whom_the_schedule_tells(lead, coordinator):
    owed = build.DeadlineFactory(title="Wintercreeper", due_on=DAY)
    for user in (lead, coordinator):
        calendar_feed_make(user=user, stamp=stamp())
    assert items(lead) == []
    assert items(coordinator) == [("Cut before fruit: Wintercreeper", DAY, 0, None)]
    Deadline.objects.filter(pk=owed.pk).update(state="met", done_on=DAY)
    calendars_refresh(stamp=stamp())
    assert items(coordinator)[0][2:] == (1, AT)


def test_it_is_kept_only_for_those_with_an_open_address(lead, visit):
    reminders_run(at=AT)
    assert items(lead) == []
    calendar_feed_make(user=lead, stamp=stamp())
    calendar_feed_revoke(user=lead, stamp=stamp(by=lead))
    Visit.objects.filter(pk=visit.pk).update(day=DAY + timedelta(days=2))
    reminders_run(at=AT)
    assert items(lead)[0][1] == DAY


def test_it_is_brought_up_to_date_by_each_run(lead, visit):
    calendar_feed_make(user=lead, stamp=stamp())
    Visit.objects.filter(pk=visit.pk).update(day=DAY + timedelta(days=2))
    reminders_run(at=AT)
    assert items(lead)[0][1] == DAY + timedelta(days=2)


def test_it_asks_the_database_as_often_for_many_as_for_few(lead, visit, django_assert_max_num_queries):
    calendar_feed_make(user=lead, stamp=stamp())
    with django_assert_max_num_queries(20) as few:
        calendars_refresh(stamp=stamp())
    for _ in range(5):
        more = build.VisitFactory(crew=visit.crew, site=visit.site, day=DAY, state="ordered")
        build.WorkOrderFactory(crew=visit.crew, site=visit.site, state="issued", visits=[more])
        build.DeadlineFactory(due_on=DAY)
    calendars_refresh(stamp=stamp())
    with django_assert_max_num_queries(len(few.captured_queries) + 2):  # crews on patches, once there are any
        calendars_refresh(stamp=stamp())
