"""Punches rounded by the pay policy, and how that averaged out."""

from datetime import UTC, date, datetime

import pytest

from orders.costs.models import PaidPunch, PayPolicy
from orders.costs.rounding import rounding_report
from orders.costs.services.punches import punches_round
from tests import build
from tests.costs.payday import DAY, FIRST, LAST

pytestmark = pytest.mark.django_db


@pytest.fixture
def quarters():
    return PayPolicy.objects.create(from_day=date(2027, 1, 1), punch_minutes=15, source="invented")


def at(hour, minute, day=10):
    return datetime(2027, 2, day, hour, minute, tzinfo=UTC)


def span(start, end, **facts):
    return build.TimedSpanFactory(started_at=start, ended_at=end, work_date=DAY, **facts)


def test_it_rounds_both_ends_and_keeps_the_true_moments(quarters, stamp):
    told = span(at(13, 7), at(17, 8))
    (row,) = punches_round(first=FIRST, last=LAST, stamp=stamp)
    assert (row.rounded_start, row.rounded_end) == (at(13, 0), at(17, 15))
    assert (row.true_minutes, row.rounded_minutes, row.rule_minutes) == (241, 255, 15)
    told.refresh_from_db()
    assert (told.started_at, told.ended_at, told.minutes) == (at(13, 7), at(17, 8), 240)


@pytest.mark.parametrize(
    ("start", "end", "hours"),
    [
        (datetime(2026, 11, 1, 2, tzinfo=UTC), datetime(2026, 11, 1, 11, tzinfo=UTC), 9),
        (datetime(2026, 3, 8, 3, tzinfo=UTC), datetime(2026, 3, 8, 10, tzinfo=UTC), 7),
    ],
    ids=["autumn", "spring"],
)
def test_it_counts_what_passed_in_a_night_when_the_clocks_change(stamp, start, end, hours):
    """22:00 to 06:00 on the clock of New York; the hours are computed from the rule of 15 USC 260a."""
    build.TimedSpanFactory(started_at=start, ended_at=end, work_date=start.date())
    (row,) = punches_round(first=start.date(), last=start.date(), stamp=stamp)
    assert (row.true_minutes, row.rounded_minutes) == (hours * 60, hours * 60)


def test_it_rounds_once_and_only_what_stands(quarters, stamp):
    wrong = span(at(13, 0), at(17, 0))
    span(at(13, 0), at(16, 0), replaces=wrong, minutes=180, why="Went home early", person=wrong.person)
    build.TimedSpanFactory(work_date=DAY, started_at=None, ended_at=None)
    build.TimedSpanFactory(work_date=DAY, person=build.PersonFactory(person_type="volunteer"))
    punches_round(first=FIRST, last=LAST, stamp=stamp)
    assert punches_round(first=FIRST, last=LAST, stamp=stamp) == []
    assert [row.true_minutes for row in PaidPunch.objects.all()] == [180]


def test_it_tells_who_lost_by_rounding(quarters, stamp):
    finance, loses, gains = build.UserFactory(roles=["finance"]), build.PersonFactory(), build.PersonFactory()
    for day in (8, 9):
        span(at(13, 0, day), at(17, 7, day), person=loses)
        span(at(13, 0, day), at(17, 8, day), person=gains)
    punches_round(first=FIRST, last=LAST, stamp=stamp)
    found = {row.person: (row.difference, row.is_against) for row in rounding_report(finance, FIRST, LAST)}
    assert found == {loses: (-14, True), gains: (14, False)}


def test_it_says_nothing_of_what_one_punch_may_lose(quarters, stamp):
    span(at(13, 0), at(17, 7))
    punches_round(first=FIRST, last=LAST, stamp=stamp)
    (row,) = rounding_report(build.UserFactory(roles=["finance"]), FIRST, LAST)
    assert (row.difference, row.is_against) == (-7, False)
