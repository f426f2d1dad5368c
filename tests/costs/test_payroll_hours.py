"""Each person's minutes of each day by code."""

from datetime import date, timedelta

import pytest

from orders.common.errors import RoleMissing
from orders.costs.models import CompTimeAgreement, OvertimeRule, PayPolicy
from orders.costs.payroll_selectors import payroll_hours
from tests import build
from tests.costs.payday import DAY, FIRST, LAST, sheet, worked

pytestmark = pytest.mark.django_db
SUNDAY = date(2027, 2, 7)


@pytest.fixture
def finance():
    return build.UserFactory(roles=["finance"])


def told(finance, first=FIRST, last=LAST):
    return [(row.person.name, row.day.day, dict(row.by_code), row.note) for row in payroll_hours(finance, first, last)]


def test_it_takes_all_paid_time_of_the_standing_day_sheet(finance):
    person, order = build.PersonFactory(name="R. Teasel"), build.WorkOrderFactory()
    first = sheet(person, DAY, ("work", 400, order))
    sheet(person, DAY, ("work", 300, order), ("shop", 60, None), ("leave", 120, None), amends=first)
    assert told(finance) == [("R. Teasel", 10, {"regular": 360, "leave": 120}, "")]


def test_it_takes_the_close_outs_of_a_day_without_sheet(finance):
    person = build.PersonFactory(name="R. Teasel")
    build.TimeEntryFactory(person=person, work_date=DAY, minutes=200)
    build.TimeEntryFactory(person=person, work_date=DAY, minutes=100)
    build.TimeEntryFactory(person=person, work_date=date(2027, 2, 11), minutes=90)
    worked(person, date(2027, 2, 11), 480)
    assert told(finance) == [
        ("R. Teasel", 10, {"regular": 300}, "no day sheet"),
        ("R. Teasel", 11, {"regular": 480}, ""),
    ]


def test_it_takes_an_amended_close_out_once(finance):
    person, closed = build.PersonFactory(name="R. Teasel"), build.CloseOutFactory()
    build.TimeEntryFactory(person=person, close_out=closed, minutes=200)
    again = build.CloseOutFactory(order=closed.order, revision=2, amends=closed)
    build.TimeEntryFactory(person=person, close_out=again, minutes=260)
    assert told(finance) == [("R. Teasel", 10, {"regular": 260}, "no day sheet")]


@pytest.mark.parametrize("kind", ["volunteer", "loaned"])
def test_it_leaves_out_who_is_not_paid_here(finance, kind):
    worked(build.PersonFactory(person_type=kind))
    assert told(finance) == []


def week(person, minutes=(480, 480, 480, 480, 480, 360)):
    for number, of_day in enumerate(minutes, start=1):
        worked(person, SUNDAY + timedelta(days=number), of_day)


def test_it_puts_overtime_on_the_last_minutes_of_the_week(finance):
    person = build.PersonFactory()
    week(person)
    build.WorkweekPremiumFactory(person=person, overtime_minutes=9)
    build.WorkweekPremiumFactory(person=person, revision=2, overtime_minutes=400)
    found = {day: by_code for _, day, by_code, _ in told(finance)}
    assert found[13] == {"overtime": 360}
    assert found[12] == {"regular": 440, "overtime": 40}
    assert found[11] == {"regular": 480}


def test_it_puts_overtime_on_the_days_that_the_week_tells(finance):
    person = build.PersonFactory()
    week(person, (480, 600, 480))
    part = {"kind": "part", "day": "2027-02-09", "overtime_minutes": 120}
    build.WorkweekPremiumFactory(person=person, overtime_minutes=130, lines=[{"kind": "figure"}, part])
    found = {day: by_code for _, day, by_code, _ in told(finance)}
    assert found[9] == {"regular": 480, "overtime": 120}
    assert found[10] == {"regular": 470, "overtime": 10}


def test_it_puts_double_time_on_the_days_that_passed_its_threshold(finance):
    """Twelve hours and more on one day: beyond eight is overtime, beyond twelve double time (Cal. Lab. Code 510, from
    memory)."""
    person, order = build.PersonFactory(), build.WorkOrderFactory(state="closed")
    OvertimeRule.objects.create(from_day=date(2027, 1, 1), day_minutes=480, day_double_minutes=720, source="invented")
    closed = build.CloseOutFactory(order=order)
    for number, minutes in ((1, 480), (2, 780), (3, 480)):
        day = SUNDAY + timedelta(days=number)
        build.TimeEntryFactory(person=person, close_out=closed, work_date=day, minutes=minutes)
        sheet(person, day, ("work", minutes, order))
    build.WorkweekPremiumFactory(person=person, overtime_minutes=240, double_minutes=60)
    found = {day: by_code for _, day, by_code, _ in told(finance)}
    assert found == {8: {"regular": 480}, 9: {"regular": 480, "overtime": 240, "double": 60}, 10: {"regular": 480}}


def test_it_looks_at_weeks_whole_that_begin_before_the_period(finance):
    person = build.PersonFactory()
    week(person)
    build.WorkweekPremiumFactory(person=person, overtime_minutes=360)
    assert told(finance, date(2027, 2, 12), date(2027, 2, 12))[0][2] == {"regular": 480}
    assert told(finance, date(2027, 2, 13), date(2027, 2, 13))[0][2] == {"overtime": 360}


def test_it_never_tells_more_overtime_than_was_worked(finance):
    person = build.PersonFactory()
    worked(person, DAY, 100)
    build.WorkweekPremiumFactory(person=person, overtime_minutes=360)
    assert told(finance)[0][2] == {"overtime": 100}


def test_it_tells_time_off_instead_of_overtime_pay(finance):
    person = build.PersonFactory()
    PayPolicy.objects.create(from_day=date(2027, 1, 1), comp_time=True, source="invented")
    CompTimeAgreement.objects.create(person=person, first_day=date(2027, 1, 1), reference="invented")
    week(person)
    build.WorkweekPremiumFactory(person=person, overtime_minutes=360, premium_cents=0, comp_minutes=540)
    found = {day: by_code for _, day, by_code, _ in told(finance)}
    assert (found[12], found[13]) == ({"regular": 480}, {"comp": 540})


def test_it_opens_to_finance_alone():
    with pytest.raises(RoleMissing):
        payroll_hours(build.UserFactory(roles=["coordinator"]), FIRST, LAST)
