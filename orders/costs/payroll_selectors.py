"""Reads of pay periods: the hours, what is wrong with them, the file, and what payroll cost beside what was told."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from django.db.models import QuerySet, Sum

from orders.common.errors import NotFound, WrongState
from orders.common.models import User
from orders.costs.models import PayPeriod, PayPeriodLine, PayrollImport, PayrollImportLine
from orders.costs.paid_time import PaidDay, paid_days, spans_standing
from orders.costs.payroll_csv import payroll_csv
from orders.costs.payroll_hours import CODES, PAID_CODES, DayHours, hours_of, locked_elsewhere, told_otherwise
from orders.costs.payroll_ledger import labor_by_fund
from orders.costs.rounding import rounding_report
from orders.costs.selectors import costs_open_to
from orders.crews.models import Person
from orders.workorders.models import TimeEntry

A_DAY = timedelta(days=1)
STATES = PayPeriod.STATES


def pay_periods(actor: User) -> QuerySet[PayPeriod]:
    costs_open_to(actor)
    return PayPeriod.objects.select_related("exported_by").order_by("-first_day")


def pay_period_get(actor: User, period_id: UUID) -> PayPeriod:
    found = pay_periods(actor).filter(public_id=period_id).first()
    if found is None:
        raise NotFound("There is no such pay period.")
    return found


def payroll_hours(actor: User, first: date, last: date) -> list[DayHours]:
    """Everybody's minutes of each day by code, as they are known now."""
    costs_open_to(actor)
    return hours_of(first, last)


def period_lines(actor: User, period: PayPeriod) -> QuerySet[PayPeriodLine]:
    """What payroll was told with this period, in the order of its file."""
    costs_open_to(actor)
    return period.lines.select_related("person").order_by("id")


def payroll_file(actor: User, period: PayPeriod) -> bytes:
    """The file that was handed over with this period, byte by byte."""
    if period.state != "exported":
        raise WrongState(f"The hours of {period} have not gone to payroll yet.")
    return payroll_csv(period_lines(actor, period))


@dataclass(frozen=True)
class Problem:
    """Something to look at before hours go to payroll. None of it stops an export: facts may come later."""

    code: str
    message: str


def period_problems(actor: User, period: PayPeriod, today: date) -> list[Problem]:
    costs_open_to(actor)
    days = paid_days(period.first_day, period.last_day)
    return [*_of_calendar(period, today), *_of_days(days), *_unstated(period, days), *_of_rounding(actor, period)]


def _of_calendar(period: PayPeriod, today: date) -> Iterator[Problem]:
    if period.state == "open" and today <= period.last_day:
        yield Problem("not-over", f"The period is not over before {period.last_day + A_DAY}.")
    before = PayPeriod.objects.filter(last_day__lt=period.first_day).order_by("-last_day").first()
    if before is not None and before.last_day + A_DAY != period.first_day:
        missing = f"{before.last_day + A_DAY} to {period.first_day - A_DAY}"
        yield Problem("gap", f"No pay period has the days from {missing}; nobody is paid for them.")


def _of_days(days: list[PaidDay]) -> Iterator[Problem]:
    closed = _closed(days)
    for day in days:
        on_orders = sum(part.minutes for part in day.parts if part.order_id)
        stated = closed[day.person.pk, day.day]
        if not day.has_sheet:
            told = f"has no day sheet of {day.day}; close-outs say {_hours(stated)}"
            yield Problem("no-day-sheet", f"{day.person} {told}.")
        elif on_orders != stated:
            differing = f"the day sheet has {_hours(on_orders)} on orders, close-outs {_hours(stated)}"
            told = f"{differing}; overtime goes by the latter"
            yield Problem("differs", f"{day.person} on {day.day}: {told}.")


def _hours(minutes: int) -> str:
    """525 -> 8.75 h; a minute is 0.0167 h, so two decimals tell minutes apart."""
    return f"{minutes / 60:.2f} h"


def _closed(days: list[PaidDay]) -> Counter[tuple[int, date]]:
    if not days:
        return Counter()
    span = min(day.day for day in days), max(day.day for day in days)
    rows = TimeEntry.objects.filter(close_out__amended_by__isnull=True, work_date__range=span).order_by()
    summed = rows.values_list("person", "work_date").annotate(minutes=Sum("minutes"))
    return Counter({(person, day): int(minutes) for person, day, minutes in summed})


def _unstated(period: PayPeriod, days: list[PaidDay]) -> Iterator[Problem]:
    """Measured outside and told by nobody: paid time that would be forgotten."""
    known = {(day.person.pk, day.day) for day in days}
    seen = dict.fromkeys((span.person, span.work_date) for span in spans_standing(period.first_day, period.last_day))
    for person, day in seen:
        if (person.pk, day) not in known:
            told = "time was measured, and there is neither a day sheet nor a close-out; it is not in the hours"
            yield Problem("unstated", f"{person} on {day}: {told}.")


def _of_rounding(actor: User, period: PayPeriod) -> Iterator[Problem]:
    for row in rounding_report(actor, period.first_day, period.last_day):
        if row.is_against:
            lost = f"rounding to {row.rule_minutes} minutes took {-row.difference} min in {row.punches} spans"
            yield Problem("rounding", f"{row.person}: {lost}. It must average out (29 CFR 785.48(b)).")


@dataclass(frozen=True)
class Change:
    """What payroll was told of a locked day, and what is known now: it goes with the next export."""

    person: Person
    day: date
    code: str
    told: int
    known: int

    @property
    def difference(self) -> int:
        return self.known - self.told


def changes_waiting(actor: User, period: PayPeriod) -> list[Change]:
    """For an open period what its export will set right in others; for a locked one what has changed in it."""
    costs_open_to(actor)
    parts = locked_elsewhere(period) if period.state == "open" else [period]
    changed = told_otherwise(parts)
    people = Person.objects.in_bulk({person for person, _, _ in changed})
    found = [Change(people[person], day, code, was, now) for (person, day, code), (was, now) in changed.items()]
    return sorted(found, key=lambda one: (one.person.name, one.person.pk, one.day, CODES.index(one.code)))


def payroll_imports_all(actor: User) -> QuerySet[PayrollImport]:
    costs_open_to(actor)
    return PayrollImport.objects.select_related("period", "by").order_by("-id")


def payroll_imports(actor: User, period: PayPeriod) -> QuerySet[PayrollImport]:
    return payroll_imports_all(actor).filter(period=period).order_by("-revision")


def payroll_import_get(actor: User, import_id: UUID) -> PayrollImport:
    rows = payroll_imports_all(actor).prefetch_related("lines__person")
    found = rows.filter(public_id=import_id).first()
    if found is None:
        raise NotFound("There is no such payroll file.")
    return found


@dataclass(frozen=True)
class Reconciled:
    """One person in a period. `line` is None where payroll's file does not name the person."""

    person: Person
    told_minutes: int
    ledger_cents: int
    line: PayrollImportLine | None

    @property
    def payroll_cents(self) -> int:
        return self.line.gross_cents + self.line.employer_cents if self.line else 0

    @property
    def difference_cents(self) -> int:
        return self.payroll_cents - self.ledger_cents

    @property
    def has_moved(self) -> bool:
        """Whether the ledger has other labor now than when the file was taken."""
        return self.line is not None and self.line.ledger_cents != self.ledger_cents


def reconciliation(actor: User, period: PayPeriod) -> list[Reconciled]:
    """Told hours, the ledger's labor and overtime premium of the days, and what payroll cost by its newest file."""
    costs_open_to(actor)
    told: dict[int, int] = defaultdict(int)
    for person, minutes in period.lines.filter(code__in=PAID_CODES).values_list("person", "minutes"):
        told[person] += minutes
    ledger = {person: sum(borne.values()) for person, borne in labor_by_fund(period).items()}
    newest = payroll_imports(actor, period).first()
    lines = {line.person_id: line for line in newest.lines.select_related("person")} if newest else {}
    people = Person.objects.in_bulk({*told, *(pk for pk, cents in ledger.items() if cents), *lines})
    ordered = sorted(people.values(), key=lambda person: (person.name, person.pk))
    return [Reconciled(one, told.get(one.pk, 0), ledger.get(one.pk, 0), lines.get(one.pk)) for one in ordered]
