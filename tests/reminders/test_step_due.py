"""Which step has come, by the clock of the site. The schedule itself is the program's design."""

from datetime import UTC, date, datetime, time, timedelta

import pytest

from orders.reminders.models import ReminderStep
from orders.reminders.moments import step_due, step_moment
from tests import build

pytestmark = pytest.mark.django_db

SPRING_FORWARD, FALL_BACK = date(2027, 3, 14), date(2026, 11, 1)
LONG_AGO = datetime(2026, 1, 1, tzinfo=UTC)


def deadline(due_on=date(2027, 8, 18), zone="America/New_York", recorded_at=LONG_AGO, **facts):
    patch = build.PatchFactory(site__time_zone=zone)
    return build.DeadlineFactory(patch=patch, due_on=due_on, survey__recorded_at=recorded_at, **facts)


def step(days_before=0, at=time(8), **facts):
    return ReminderStep(pk=days_before + 1000, days_before=days_before, local_time=at, **facts)


SCHEDULE = [step(days) for days in (28, 14, 7, 2, 0, -1)]


def utc(year, month, day, hour=0, minute=0, second=0):
    return datetime(year, month, day, hour, minute, second, tzinfo=UTC)


def moment_of(owed, one):
    """Where the step applies."""
    found = step_moment(owed, one)
    assert found
    return found


def days_left(owed, steps, at):
    """By the step that is due: the days before the due day that it is for."""
    found = step_due(owed, steps, at)
    return found and found.days_before


@pytest.mark.parametrize(
    ("zone", "due_on", "at", "moment"),
    [
        # RFC 5545, 3.3.5: a time that comes twice is the first; a skipped one is read with the offset before the gap.
        ("America/New_York", FALL_BACK, time(1, 30), utc(2026, 11, 1, 5, 30)),
        ("America/Chicago", FALL_BACK, time(1, 30), utc(2026, 11, 1, 6, 30)),
        ("America/New_York", date(2026, 3, 8), time(2, 30), utc(2026, 3, 8, 7, 30)),
        ("America/Chicago", date(2026, 3, 8), time(2, 30), utc(2026, 3, 8, 8, 30)),
        # The morning after either night, and the one before: one hour of UTC apart.
        ("America/New_York", FALL_BACK, time(8), utc(2026, 11, 1, 13)),
        ("America/New_York", date(2026, 10, 31), time(8), utc(2026, 10, 31, 12)),
        ("America/New_York", SPRING_FORWARD, time(8), utc(2027, 3, 14, 12)),
        ("America/New_York", date(2027, 3, 13), time(8), utc(2027, 3, 13, 13)),
        ("America/Chicago", FALL_BACK, time(8), utc(2026, 11, 1, 14)),
        ("America/Chicago", SPRING_FORWARD, time(8), utc(2027, 3, 14, 13)),
        # Arizona changes no clocks.
        ("America/Phoenix", SPRING_FORWARD, time(8), utc(2027, 3, 14, 15)),
    ],
)
def test_it_has_its_moment_by_the_clock_of_the_site(zone, due_on, at, moment):
    assert step_moment(deadline(due_on, zone), step(0, at)) == moment


@pytest.mark.parametrize("night", [SPRING_FORWARD, FALL_BACK])
def test_it_counts_days_by_the_calendar_over_the_night_when_clocks_change(night):
    owed = deadline(night)
    hours = 23 if night == SPRING_FORWARD else 25
    assert moment_of(owed, step(0)) - moment_of(owed, step(1)) == timedelta(hours=hours)


@pytest.mark.parametrize(
    ("at", "days_before"),
    [
        (utc(2027, 7, 21, 11, 59, 59), None),
        (utc(2027, 7, 21, 12), 28),
        (utc(2027, 8, 4, 11, 59, 59), 28),
        (utc(2027, 8, 4, 12), 14),
        (utc(2027, 8, 15, 12), 7),
        (utc(2027, 8, 18, 12), 0),
        (utc(2027, 8, 19, 12), -1),
    ],
)
def test_it_is_the_latest_whose_time_has_come(at, days_before):
    assert days_left(deadline(), SCHEDULE, at) == days_before


@pytest.mark.parametrize("zone", ["America/New_York", "America/Chicago"])
@pytest.mark.parametrize("night", [SPRING_FORWARD, FALL_BACK])
def test_it_comes_once_on_a_night_when_clocks_change(zone, night):
    """Asked every five minutes from noon to noon: not there, then there, and never gone again."""
    owed, times = deadline(night, zone), [step(0, time(1, 30)), step(1, time(1, 30))]
    start = datetime(night.year, night.month, night.day, tzinfo=UTC) - timedelta(hours=12)
    asked = [days_left(owed, times, start + timedelta(minutes=5 * n)) for n in range(288)]
    moment = moment_of(owed, times[0])
    first = next(n for n in range(288) if start + timedelta(minutes=5 * n) >= moment)
    assert asked == [1] * first + [0] * (288 - first)
    assert 0 < first < 288


def test_it_is_none_from_before_the_deadline_was_known():
    recorded = deadline(recorded_at=utc(2027, 8, 5, 9))
    assert step_due(recorded, SCHEDULE, utc(2027, 8, 5, 12)) is None
    assert days_left(recorded, SCHEDULE, utc(2027, 8, 11, 12)) == 7


def test_it_does_not_say_how_much_time_is_left_when_none_is():
    assert days_left(deadline(), SCHEDULE, utc(2027, 8, 19, 3, 59)) == 0
    assert step_due(deadline(), SCHEDULE, utc(2027, 8, 19, 4, 0)) is None


def test_it_is_none_once_it_is_no_news_any_more():
    assert days_left(deadline(), SCHEDULE, utc(2027, 10, 18, 12)) == -1
    assert step_due(deadline(), SCHEDULE, utc(2027, 10, 18, 12, 1)) is None


def test_it_comes_at_once_when_fruit_was_seen():
    recorded = utc(2027, 9, 10, 23, 30)
    late = deadline(state="late", recorded_at=recorded)
    fruit = ReminderStep(pk=1, counts_from="fruit")
    assert step_due(late, [*SCHEDULE, fruit], recorded) is fruit
    assert step_due(late, [*SCHEDULE, fruit], recorded - timedelta(seconds=1)) is None


def test_it_does_not_come_for_fruit_where_none_was_seen():
    assert step_due(deadline(), [ReminderStep(pk=1, counts_from="fruit")], utc(2027, 8, 10)) is None
