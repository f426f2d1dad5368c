"""A person's calendar as RFC 5545 text that other programs subscribe to."""

from collections.abc import Iterable
from datetime import UTC, timedelta

from icalendar import Alarm, Calendar, Event, vDuration

from orders.reminders.models import CalendarItem

REFRESH = timedelta(hours=1)
ALARM_BEFORE = timedelta(hours=15)  # an all-day entry begins at midnight: nine in the morning of the day before


def calendar_text(name: str, items: Iterable[CalendarItem]) -> bytes:
    """METHOD:PUBLISH, with the name and refresh interval of RFC 7986. All entries are of whole days: a plan says the
    day of a visit and not its hour, so that no clock change can move one."""
    made = Calendar()
    made.add("prodid", "-//Fencerow//Reminders//EN")
    made.add("version", "2.0")
    made.add("method", "PUBLISH")
    made.add("name", name)
    made.add("refresh-interval", vDuration(REFRESH), parameters={"VALUE": "DURATION"})
    for item in items:
        made.add_component(_event(item))
    return bytes(made.to_ical())


def _event(item: CalendarItem) -> Event:
    event = Event()
    event.add("uid", item.uid)
    event.add("sequence", item.sequence)
    event.add("dtstamp", item.changed_at.astimezone(UTC))
    event.add("created", item.added_at.astimezone(UTC))
    event.add("last-modified", item.changed_at.astimezone(UTC))
    event.add("dtstart", item.day)
    event.add("dtend", item.day + timedelta(days=1))
    event.add("summary", item.summary)
    if item.description:
        event.add("description", item.description)
    if item.location:
        event.add("location", item.location)
    event.add("transp", "TRANSPARENT" if item.has_alarm else "OPAQUE")
    event.add("status", "CANCELLED" if item.cancelled_at else "CONFIRMED")
    if item.has_alarm and item.cancelled_at is None:
        event.add_component(_alarm(item))
    return event


def _alarm(item: CalendarItem) -> Alarm:
    """Many programs leave out the alarms of a calendar that they subscribe to: the mails do not rely on it."""
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", -ALARM_BEFORE)
    alarm.add("description", item.summary)
    return alarm
