"""Pay periods: opened, told to payroll once, and locked. What changes later goes with the next one as adjustments."""

import hashlib
from datetime import date
from typing import Any

from orders.common.changes import change_record, version_bump
from orders.common.errors import WrongState
from orders.common.rows import Findings, row_add
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import PayPeriod, PayPeriodLine
from orders.costs.payroll_csv import payroll_csv
from orders.costs.payroll_hours import CODES, Key, locked_elsewhere, told_otherwise
from orders.costs.services.punches import punches_round
from orders.crews.models import Person

MOST_DAYS = 62


@writing()
def pay_period_open(*, first_day: date, last_day: date, stamp: Stamp) -> PayPeriod:
    """No day is in two periods, so that nobody is paid twice."""
    found = Findings()
    found.days_in_order(first_day, last_day)
    found.need((last_day - first_day).days < MOST_DAYS, "last_day", f"A pay period has {MOST_DAYS} days at most.")
    other = PayPeriod.objects.filter(first_day__lte=last_day, last_day__gte=first_day).order_by("first_day").first()
    found.need(other is None, "first_day", f"These days are in the pay period {other} already.")
    found.refuse("The pay period was not opened.")
    row = PayPeriod(first_day=first_day, last_day=last_day)
    return row_add(row, stamp=stamp, verb="pay_period_open")


@writing()
def payroll_export(*, period: PayPeriod, expected: int | None = None, stamp: Stamp) -> PayPeriod:
    """Tell payroll the hours of a period, and what has changed in periods that it was told before; lock the period.

    The lines stand from then on and so does the file, byte by byte. Facts from outside are never refused for it: a day
    sheet that comes late is told with the next period.
    """
    period.refresh_from_db()
    if period.state != "open":
        raise WrongState(f"The hours of {period} went to payroll already. What came since goes with the next period.")
    punches_round(first=period.first_day, last=period.last_day, stamp=stamp)
    people = {person.pk: person for person in Person.objects.all()}
    lines = PayPeriodLine.objects.bulk_create(_lines(period, people))
    told = {
        "state": "exported",
        "exported_at": stamp.at,
        "exported_by": stamp.by,
        "file_sha256": hashlib.sha256(payroll_csv(lines)).hexdigest(),
    }
    before = version_bump(period, expected=expected, **told)
    after = {"state": "exported", "lines": len(lines), "file_sha256": period.file_sha256}
    change_record(stamp=stamp, verb="payroll_export", entity=period, before={"state": before["state"]}, after=after)
    return period


def _lines(period: PayPeriod, people: dict[int, Person]) -> list[PayPeriodLine]:
    """Its own days, then what earlier exports told otherwise."""
    return [
        _line(period, key, found[key][1] - found[key][0], people, is_adjustment=is_adjustment)
        for is_adjustment, parts in ((False, [period]), (True, locked_elsewhere(period)))
        for found in [told_otherwise(parts)]
        for key in sorted(found, key=lambda key: _order(key, people))
    ]


def _order(key: Key, people: dict[int, Person]) -> tuple[Any, ...]:
    person, day, code = key
    return people[person].name, person, day, CODES.index(code)


def _line(
    period: PayPeriod, key: Key, minutes: int, people: dict[int, Person], *, is_adjustment: bool
) -> PayPeriodLine:
    person, day, code = key
    return PayPeriodLine(
        period=period,
        person=people[person],
        person_name=people[person].name,
        work_date=day,
        code=code,
        minutes=minutes,
        is_adjustment=is_adjustment,
    )
