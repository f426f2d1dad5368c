"""What the kinds share: how far to look, zones, and where the ground of an order lies."""

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings

from orders.common.stamp import Stamp
from orders.reminders.models import Deadline
from orders.reminders.moments import NEWS_DAYS

# From this many days before a far day its deadline is kept. More than the longest step of the schedule that comes with
# the program; tunable, our own choice.
AHEAD_DAYS = 120


def since(stamp: Stamp) -> date:
    """Whatever was due before this day is no news any more."""
    return stamp.at.date() - timedelta(days=NEWS_DAYS)


def ahead(stamp: Stamp) -> date:
    return stamp.at.date() + timedelta(days=AHEAD_DAYS)


def program_zone() -> str:
    return str(settings.PROGRAM_TIME_ZONE)


def local_moment(day: date, at: time, time_zone: str) -> datetime:
    return datetime.combine(day, at, tzinfo=ZoneInfo(time_zone))


def local_day(moment: datetime, time_zone: str) -> date:
    return moment.astimezone(ZoneInfo(time_zone)).date()


def ids_of(rows: Iterable[Deadline], name: str) -> set[int]:
    """The other rows that these deadlines point at through one column."""
    return {key for row in rows if (key := getattr(row, f"{name}_id")) is not None}
