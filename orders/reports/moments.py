"""When a schedule is due next, by a clock on the wall."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

MOST_DAYS = 32  # within so many days each kind comes around


def schedule_next(*, every: str, on_day: int, at_hour: int, time_zone: str, after: datetime) -> datetime:
    """The first moment after `after`. An hour that the clock skips is told an hour later, as RFC 5545 3.3.5 says (the
    offset before the gap); one that it shows twice is the first of the two. A day has one moment."""
    zone = ZoneInfo(time_zone)
    today = after.astimezone(zone).date()
    for days in range(MOST_DAYS + 1):
        day = today + timedelta(days=days)
        moment = datetime.combine(day, time(at_hour), tzinfo=zone).astimezone(ZoneInfo("UTC"))
        if _is_its_day(day, every, on_day) and moment > after:
            return moment
    raise ValueError(f"No day {on_day} of a {every} comes within {MOST_DAYS} days.")


def _is_its_day(day: date, every: str, on_day: int) -> bool:
    return every == "day" or on_day == (day.isoweekday() if every == "week" else day.day)
