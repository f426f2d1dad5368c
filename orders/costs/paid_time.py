"""Whose paid minutes of which day: as the day sheet says, or where there is none, as the close-outs do.

Volunteers and loaned staff are paid by nobody here or by somebody else, and are left out.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from django.db.models import QuerySet, Sum

from orders.costs.services.labor import UNPAID
from orders.crews.models import Person
from orders.field.models import DayLine, DaySheet
from orders.workorders.models import TimedSpan, TimeEntry

Timed = TypeVar("Timed", DaySheet, TimeEntry, TimedSpan)


@dataclass(frozen=True)
class PaidPart:
    """Minutes of one code, for an order where there is one; drive and standby by what each order bears of them."""

    code: str
    order_id: int | None
    minutes: int


@dataclass(frozen=True)
class PaidDay:
    person: Person
    day: date
    has_sheet: bool
    parts: tuple[PaidPart, ...]

    @property
    def minutes(self) -> int:
        return sum(part.minutes for part in self.parts)

    @property
    def leave(self) -> int:
        return sum(part.minutes for part in self.parts if part.code == "leave")

    @property
    def worked(self) -> int:
        return self.minutes - self.leave


def paid_days(first: date, last: date, person: Person | None = None) -> list[PaidDay]:
    """By person's name and day. A day sheet speaks for the whole day, so close-outs count only where there is none."""
    days = list(_of_sheets(first, last, person))
    days += _of_close_outs(first, last, person, {(day.person.pk, day.day) for day in days})
    return sorted(days, key=lambda day: (day.person.name, day.person.pk, day.day))


def _of_sheets(first: date, last: date, person: Person | None) -> Iterator[PaidDay]:
    sheets = _paid(DaySheet.objects.filter(amended_by__isnull=True), first, last, person)
    for sheet in sheets.select_related("person").prefetch_related("lines__shares"):
        parts = tuple(part for line in sheet.lines.all() for part in _parts(line))
        yield PaidDay(sheet.person, sheet.work_date, True, parts)


def _parts(line: DayLine) -> Iterator[PaidPart]:
    shares = [] if line.order_id else [share for share in line.shares.all() if share.minutes]
    for share in shares:
        yield PaidPart(line.code, share.order_id, share.minutes)
    rest = line.minutes - sum(share.minutes for share in shares)
    if rest:
        yield PaidPart(line.code, line.order_id, rest)


def _of_close_outs(
    first: date, last: date, person: Person | None, with_sheet: set[tuple[int, date]]
) -> Iterator[PaidDay]:
    rows = _paid(TimeEntry.objects.filter(close_out__amended_by__isnull=True), first, last, person)
    summed = rows.order_by("close_out__order").values_list("person", "work_date", "close_out__order")
    by_day: dict[tuple[int, date], list[PaidPart]] = defaultdict(list)
    for person_id, day, order_id, minutes in summed.annotate(total=Sum("minutes")):
        if (person_id, day) not in with_sheet:
            by_day[person_id, day].append(PaidPart("work", order_id, int(minutes)))
    people = Person.objects.in_bulk({person_id for person_id, _ in by_day})
    return (PaidDay(people[person_id], day, False, tuple(parts)) for (person_id, day), parts in by_day.items())


def spans_standing(first: date, last: date) -> QuerySet[TimedSpan]:
    """Measured time that no later span has replaced or struck."""
    spans = TimedSpan.objects.filter(replaced_by__isnull=True, minutes__gt=0)
    return _paid(spans, first, last, None).select_related("person").order_by("work_date", "person_id", "id")


def _paid(rows: QuerySet[Timed], first: date, last: date, person: Person | None) -> QuerySet[Timed]:
    paid = rows.filter(work_date__range=(first, last)).exclude(person__person_type__in=UNPAID)
    return paid if person is None else paid.filter(person=person)
