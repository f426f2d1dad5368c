"""Pay periods: opened, told to payroll once, and what changes later."""

import csv
import hashlib
import io
from collections import Counter
from datetime import date, timedelta
from typing import Any

import pandas
import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orders.common.errors import Invalid, VersionMismatch, WrongState
from orders.costs.models import PaidPunch, PayPeriod, PayPeriodLine
from orders.costs.payroll_hours import facts_of, hours_of, told_so_far
from orders.costs.payroll_selectors import changes_waiting, payroll_file, period_problems
from orders.costs.services.payroll import pay_period_open, payroll_export
from tests import build
from tests.costs.payday import A_DAY, DAY, FIRST, LAST, exported, period, sheet, worked

pytestmark = pytest.mark.django_db
NEXT, NEXT_LAST = LAST + A_DAY, LAST + 14 * A_DAY


@pytest.fixture
def finance():
    return build.UserFactory(roles=["finance"])


def lines(of):
    return [(line.person.name, line.work_date.day, line.code, line.minutes) for line in of.lines.order_by("id")]


@pytest.mark.parametrize(("first", "last"), [(LAST, NEXT), (FIRST - A_DAY, FIRST), (FIRST + A_DAY, LAST - A_DAY)])
def test_it_takes_no_day_into_two_periods(stamp, first, last):
    period(stamp=stamp)
    with pytest.raises(Invalid, match="not opened") as refusal:
        pay_period_open(first_day=first, last_day=last, stamp=stamp)
    assert [error.field for error in refusal.value.errors] == ["first_day"]


def test_it_refuses_a_period_that_ends_before_it_begins(stamp):
    with pytest.raises(Invalid):
        pay_period_open(first_day=LAST, last_day=FIRST, stamp=stamp)
    assert not PayPeriod.objects.exists()


def test_it_warns_of_days_in_no_period(stamp, finance):
    period(stamp=stamp)
    later = period(NEXT + A_DAY, NEXT_LAST, stamp=stamp)
    (gap,) = [one for one in period_problems(finance, later, NEXT_LAST + A_DAY) if one.code == "gap"]
    assert "2027-02-21 to 2027-02-21" in gap.message


def test_it_tells_what_is_missing_before_hours_go_out(stamp, finance):
    measured, stated = build.PersonFactory(name="M. Sedge"), build.PersonFactory(name="S. Reed")
    build.TimedSpanFactory(person=measured, work_date=DAY)
    build.TimeEntryFactory(person=stated, work_date=DAY, minutes=300)
    differs = build.PersonFactory(name="D. Rush")
    build.TimeEntryFactory(person=differs, work_date=DAY, minutes=300)
    worked(differs, DAY, 310)
    found = {one.code: one.message for one in period_problems(finance, period(stamp=stamp), DAY)}
    assert set(found) == {"not-over", "no-day-sheet", "differs", "unstated"}
    assert ("S. Reed" in found["no-day-sheet"], "M. Sedge" in found["unstated"]) == (True, True)
    assert "5.17 h on orders, close-outs 5.00 h" in found["differs"]


def test_it_stores_what_payroll_was_told_and_locks_the_period(stamp, finance):
    person = build.PersonFactory(name="R. Teasel")
    worked(person, DAY, 450)
    done = exported(stamp=stamp)
    assert (done.state, done.exported_at, lines(done)) == ("exported", stamp.at, [("R. Teasel", 10, "regular", 450)])
    assert hashlib.sha256(payroll_file(finance, done)).hexdigest() == done.file_sha256


def test_it_gives_the_same_bytes_again(stamp, finance):
    person = build.PersonFactory(name="R. Teasel")
    worked(person)
    done = exported(stamp=stamp)
    before = payroll_file(finance, done)
    person.name = "R. Teasel-Marsh"
    person.save()
    worked(build.PersonFactory(), DAY + A_DAY)
    assert payroll_file(finance, PayPeriod.objects.get()) == before


def test_it_exports_once(stamp):
    done = exported(stamp=stamp)
    with pytest.raises(WrongState):
        payroll_export(period=done, stamp=stamp)


def test_it_refuses_a_period_that_somebody_changed_meanwhile(stamp):
    worked(build.PersonFactory())
    opened = period(stamp=stamp)
    with pytest.raises(VersionMismatch):
        payroll_export(period=opened, expected=opened.version + 1, stamp=stamp)
    assert not PayPeriodLine.objects.exists()
    opened.refresh_from_db()
    assert opened.state == "open"


def test_it_keeps_the_rounded_punches_of_its_days(stamp):
    build.TimedSpanFactory(work_date=DAY)
    build.TimedSpanFactory(work_date=NEXT)
    exported(stamp=stamp)
    assert PaidPunch.objects.get().span.work_date == DAY


def test_it_has_no_file_before_its_export(stamp, finance):
    with pytest.raises(WrongState):
        payroll_file(finance, period(stamp=stamp))


def test_it_sets_a_locked_day_right_with_the_next_export(stamp, finance):
    person = build.PersonFactory(name="R. Teasel")
    late = build.PersonFactory(name="L. Rush")
    first = worked(person, DAY, 480)
    done = exported(stamp=stamp)
    before = payroll_file(finance, done)
    sheet(person, DAY, ("work", 400, build.WorkOrderFactory()), ("leave", 60, None), amends=first)
    worked(late, DAY, 300)
    assert [(one.code, one.difference) for one in changes_waiting(finance, done)] == [
        ("regular", 300),
        ("regular", -80),
        ("leave", 60),
    ]
    worked(person, NEXT, 120)
    following = exported(NEXT, NEXT_LAST, stamp=stamp)
    assert lines(following) == [
        ("R. Teasel", 21, "regular", 120),
        ("L. Rush", 10, "regular", 300),
        ("R. Teasel", 10, "regular", -80),
        ("R. Teasel", 10, "leave", 60),
    ]
    assert [line.is_adjustment for line in following.lines.order_by("id")] == [False, True, True, True]
    assert payroll_file(finance, done) == before


def test_its_file_reads_back_in_other_programs(stamp, finance):
    """By pandas, and by the standard library's own guess of the dialect."""
    person = build.PersonFactory(name='=HYPERLINK("x") "Ray", Teasel')
    first = worked(person, DAY, 50)
    exported(stamp=stamp)
    sheet(person, DAY, ("work", 5, build.WorkOrderFactory()), amends=first)
    worked(person, NEXT, 455)
    data = payroll_file(finance, exported(NEXT, NEXT_LAST, stamp=stamp))
    frame = pandas.read_csv(io.BytesIO(data))
    assert list(frame["minutes"]) == [455, -45]
    assert list(frame["hours"]) == [7.58, -0.75]
    assert list(frame["adjustment"]) == ["no", "yes"]
    assert set(frame["person"]) == {f"'{person.name}"}
    text = data.decode()
    table = list(csv.reader(io.StringIO(text, newline=""), csv.Sniffer().sniff(text)))
    assert {len(row) for row in table} == {len(frame.columns)}
    assert text.count("\r\n") == text.count("\n") == 3


STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("sheet"), st.integers(0, 1), st.integers(0, 41), st.integers(0, 600), st.integers(0, 120)),
        st.tuples(st.just("closed"), st.integers(0, 1), st.integers(0, 41), st.integers(1, 600)),
        st.tuples(st.just("week"), st.integers(0, 1), st.integers(0, 5), st.integers(0, 900)),
        st.tuples(st.just("export"), st.integers(0, 2)),
    ),
    min_size=1,
    max_size=14,
)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=STEPS)
def test_told_so_far_is_what_was_known_at_the_last_export(stamp, steps):
    """In any order of sheets, amendments, close-outs, overtime and exports, periods out of order with them."""
    with transaction.atomic():
        _run(steps, stamp)
        transaction.set_rollback(True)


def _run(steps, stamp):
    people = [build.PersonFactory(), build.PersonFactory()]
    order = build.WorkOrderFactory(state="closed")
    starts = [FIRST + number * timedelta(days=14) for number in range(3)]
    locked: dict[date, Counter[Any]] = {}
    for number in range(3):
        pay_period_open(first_day=starts[number], last_day=starts[number] + timedelta(days=13), stamp=stamp)
    standing: dict[tuple[int, int], object] = {}
    for kind, which, *facts in steps:
        if kind == "sheet":
            day, work, leave = facts
            told = [("work", work, order), ("leave", leave, None)]
            told = [line for line in told if line[1]]
            key = which, day
            standing[key] = sheet(people[which], FIRST + day * A_DAY, *told, amends=standing.get(key))
        elif kind == "closed":
            day, minutes = facts
            build.TimeEntryFactory(person=people[which], work_date=FIRST + day * A_DAY, minutes=minutes)
        elif kind == "week":
            week, minutes = facts
            premiums = people[which].workweek_premiums.filter(week_start=FIRST + 7 * week * A_DAY)
            build.WorkweekPremiumFactory(
                person=people[which],
                week_start=FIRST + 7 * week * A_DAY,
                revision=premiums.count() + 1,
                overtime_minutes=minutes,
            )
        elif starts[which] not in locked:
            payroll_export(period=PayPeriod.objects.get(first_day=starts[which]), stamp=stamp)
            done = [*locked, starts[which]]
            locked = {start: facts_of(hours_of(start, start + timedelta(days=13))) for start in done}
    for start in starts:
        assert told_so_far(start, start + timedelta(days=13)) == locked.get(start, Counter())
