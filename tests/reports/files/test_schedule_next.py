"""When a schedule is due next, over the nights when the clock is put on and back.

Source of the two rules: RFC 5545 section 3.3.5; the moments are figured from the zone's own offsets.
"""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orders.reports.moments import schedule_next

NEW_YORK = "America/New_York"


def _next(after, every="day", on_day=1, at_hour=7, time_zone=NEW_YORK):
    return schedule_next(every=every, on_day=on_day, at_hour=at_hour, time_zone=time_zone, after=after)


@pytest.mark.parametrize(
    ("after", "due"),
    [
        (datetime(2027, 2, 10, 11, 59, tzinfo=UTC), datetime(2027, 2, 10, 12, tzinfo=UTC)),
        (datetime(2027, 2, 10, 12, tzinfo=UTC), datetime(2027, 2, 11, 12, tzinfo=UTC)),
        (datetime(2027, 3, 14, 3, tzinfo=UTC), datetime(2027, 3, 14, 11, tzinfo=UTC)),
    ],
)
def test_it_goes_by_the_clock_on_the_wall(after, due):
    assert _next(after) == due


def test_it_tells_an_hour_that_is_skipped_an_hour_later():
    """2:00 on March 14, 2027 does not exist in New York."""
    due = _next(datetime(2027, 3, 14, 5, tzinfo=UTC), at_hour=2)
    assert due == datetime(2027, 3, 14, 7, tzinfo=UTC)
    assert due.astimezone(ZoneInfo(NEW_YORK)).hour == 3


def test_it_tells_an_hour_that_comes_twice_once():
    """1:00 on November 7, 2027 comes twice in New York."""
    first = _next(datetime(2027, 11, 7, 4, tzinfo=UTC), at_hour=1)
    assert first == datetime(2027, 11, 7, 5, tzinfo=UTC)
    assert _next(first, at_hour=1) == datetime(2027, 11, 8, 6, tzinfo=UTC)


def test_it_knows_weekdays_and_days_of_a_month():
    after = datetime(2027, 2, 10, 15, tzinfo=UTC)  # a Wednesday
    assert _next(after, every="week", on_day=3) == datetime(2027, 2, 17, 12, tzinfo=UTC)
    assert _next(after, every="week", on_day=5) == datetime(2027, 2, 12, 12, tzinfo=UTC)
    assert _next(after, every="month", on_day=10) == datetime(2027, 3, 10, 12, tzinfo=UTC)
    assert _next(after, every="month", on_day=28) == datetime(2027, 2, 28, 12, tzinfo=UTC)


@given(
    st.datetimes(datetime(2026, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001  # hypothesis adds it
    st.sampled_from(["day", "week", "month"]),
    st.integers(1, 28),
    st.integers(0, 23),
    st.sampled_from([NEW_YORK, "America/Kentucky/Louisville", "America/Phoenix"]),
)
def test_it_comes_later_and_once_a_day(after, every, on_day, at_hour, zone):
    on_day = (on_day - 1) % 7 + 1 if every == "week" else on_day
    due = _next(after, every, on_day, at_hour, zone)
    following = _next(due, every, on_day, at_hour, zone)
    days = [moment.astimezone(ZoneInfo(zone)).date() for moment in (due, following)]
    assert after < due < following
    assert days[0] < days[1]
