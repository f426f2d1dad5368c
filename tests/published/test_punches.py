"""Published answers about punches: hours of nights in which the clocks change, and rounding to a quarter hour."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from estimating.punches import elapsed_minutes, punch_rounded

CHANGING = ["America/New_York", "America/Chicago", "America/Indiana/Indianapolis"]
FALL = "2026-10-31 22:00", "2026-11-01 06:00"
SPRING = "2026-03-07 22:00", "2026-03-08 06:00"


@pytest.mark.parametrize(
    ("zone", "night", "hours"),
    # Computed from the time zone database: the clocks go back on 2026-11-01 and forward on 2026-03-08; not in Phoenix.
    [
        *((zone, FALL, 9) for zone in CHANGING),
        *((zone, SPRING, 7) for zone in CHANGING),
        ("America/Phoenix", FALL, 8),
        ("America/Phoenix", SPRING, 8),
    ],
)
def test_it_counts_the_hours_that_really_passed(zone, night, hours):
    start, end = (datetime.fromisoformat(moment).replace(tzinfo=ZoneInfo(zone)) for moment in night)
    assert elapsed_minutes(start, end) == hours * 60


def at(minute, hour=7):
    return datetime(2026, 6, 1, hour, minute, tzinfo=ZoneInfo("America/New_York"))


@pytest.mark.parametrize(("punched", "counted"), [(7, 0), (8, 15), (1, 0), (14, 15), (22, 15), (23, 30)])
def test_it_rounds_to_the_quarter_hour(punched, counted):
    # Fact Sheet 53 of the Wage and Hour Division (from memory): minutes 1 to 7 go down, 8 to 14 up.
    assert punch_rounded(at(punched), 15) == at(counted)


@pytest.mark.parametrize("minutes", [5, 6, 15])
def test_it_evens_out(minutes):
    # 29 CFR 785.48(b): rounding may not underpay over time; over all minutes alike the mean shift is within 0.5 min.
    shifts = [(punch_rounded(at(m), minutes) - at(m)) / timedelta(minutes=1) for m in range(minutes)]
    assert abs(sum(shifts)) / minutes <= 0.5
