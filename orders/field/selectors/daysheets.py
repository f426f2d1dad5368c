"""Reads of day sheets: who has one, what each comes to by code, and where it differs from the close-outs."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet, Sum

from orders.common.models import User
from orders.crews.models import Crew, CrewMembership, Person
from orders.field.models import DaySheet
from orders.planning.models import Visit
from orders.workorders.field_facts import crew_scope
from orders.workorders.models import TimeEntry

AT_WORK = ("issued", "underway", "closed")


def day_sheets_of(actor: User, *, on: date) -> QuerySet[DaySheet]:
    """Every revision; `standing` keeps the newest."""
    rows = DaySheet.objects.filter(crew_scope(actor, on=on, users=("by",))).select_related("crew", "person", "by")
    return rows.prefetch_related("lines__order", "lines__shares__order")


def standing(rows: QuerySet[DaySheet]) -> QuerySet[DaySheet]:
    return rows.filter(amended_by__isnull=True)


@dataclass(frozen=True)
class PersonDay:
    """One person's day: the sheet (None where it is missing), minutes by code, and what close-outs state of it."""

    person: Person
    sheet: DaySheet | None
    by_code: Counter[str]
    on_orders: int
    closed: int

    @property
    def total(self) -> int:
        return self.by_code.total()

    @property
    def difference(self) -> int:
        """Minutes on orders by the sheet, its shares of drive and standby with them, less those of close-outs."""
        return self.on_orders - self.closed


def person_days(sheets: Sequence[DaySheet], *, day: date, crew_ids: Sequence[int]) -> list[PersonDay]:
    """Everybody on these crews that day, and whoever else has a sheet of it, by name."""
    by_person = {sheet.person_id: sheet for sheet in sheets}
    people = {sheet.person_id: sheet.person for sheet in sheets}
    people |= {person.pk: person for person in _people(crew_ids, day)}
    closed = _closed_minutes(people, day)
    ordered = sorted(people.values(), key=lambda person: (person.name, person.pk))
    return [_person_day(person, by_person.get(person.pk), closed.get(person.pk, 0)) for person in ordered]


def _person_day(person: Person, sheet: DaySheet | None, closed: int) -> PersonDay:
    lines = list(sheet.lines.all()) if sheet else []
    by_code: Counter[str] = Counter()
    for line in lines:
        by_code[line.code] += line.minutes
    worked = sum(line.minutes for line in lines if line.order_id)
    shared = sum(share.minutes for line in lines for share in line.shares.all())
    return PersonDay(person, sheet, by_code, worked + shared, closed)


def crews_at_work(day: date) -> QuerySet[Crew]:
    """Crews with a standing visit, a check-in, measured time or a sheet of that day."""
    visited = Visit.objects.filter(day=day, order_visit__order__state__in=AT_WORK).exclude(state="dropped")
    seen = Q(pk__in=visited.order_by().values("crew"))
    seen |= Q(check_ins__work_date=day) | Q(timed_spans__work_date=day) | Q(day_sheets__work_date=day)
    return Crew.objects.filter(seen).distinct().order_by("name")


def _people(crew_ids: Sequence[int], day: date) -> list[Person]:
    members = CrewMembership.objects.filter(Q(last_day__isnull=True) | Q(last_day__gte=day), first_day__lte=day)
    members = members.filter(crew__in=crew_ids, person__is_active=True).select_related("person")
    return [member.person for member in members]


def _closed_minutes(people: dict[int, Person], day: date) -> dict[int, int]:
    rows = TimeEntry.objects.filter(close_out__amended_by__isnull=True, work_date=day, person__in=list(people))
    summed = rows.order_by().values_list("person_id").annotate(minutes=Sum("minutes"))
    return {person: int(minutes or 0) for person, minutes in summed}
