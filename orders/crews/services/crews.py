"""Writes of crews, of who is on them and who leads them."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import Q

from orders.common.errors import FieldError, Invalid
from orders.common.rows import Findings, row_add, row_edit, unversioned_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Crew, CrewMembership, Person


@writing()
def crew_add(*, stamp: Stamp, name: str, hours_a_day: Decimal = Decimal(8), works_weekdays: str = "1111100") -> Crew:
    """Add a crew. `works_weekdays` is one figure a day, Monday first: 1 works, 0 does not."""
    row = Crew(name=name, hours_a_day=hours_a_day, works_weekdays=works_weekdays)
    return row_add(row, stamp=stamp, verb="crew_add", findings=_wrong_with(hours_a_day, works_weekdays))


@writing()
def crew_edit(*, crew: Crew, values: dict[str, Any], expected: int, stamp: Stamp) -> Crew:
    """Change a crew's name, hours a day, weekdays, or whether it is in use. What stands planned is not moved by it."""
    hours = values.get("hours_a_day", crew.hours_a_day)
    _wrong_with(hours, values.get("works_weekdays", crew.works_weekdays)).refuse("The crew was not changed.")
    return row_edit(crew, stamp=stamp, verb="crew_edit", expected=expected, values=values)


@writing()
def crew_deactivate(*, crew: Crew, expected: int, stamp: Stamp) -> Crew:
    """Plan no more work for it. Its orders stay; reassign those that it will not do."""
    return row_edit(crew, stamp=stamp, verb="crew_deactivate", expected=expected, values={"is_active": False})


@writing()
def crew_activate(*, crew: Crew, expected: int, stamp: Stamp) -> Crew:
    return row_edit(crew, stamp=stamp, verb="crew_activate", expected=expected, values={"is_active": True})


def _wrong_with(hours_a_day: Decimal, works_weekdays: str) -> Findings:
    found = Findings()
    seven = len(works_weekdays) == 7 and set(works_weekdays) <= {"0", "1"} and "1" in works_weekdays
    found.need(seven, "works_weekdays", "Seven figures, Monday first: 1 works, 0 does not; one day at least.")
    found.need(0 < hours_a_day <= 24, "hours_a_day", "Must be more than 0 and at most 24.")
    return found


@writing()
def crew_member_add(
    *,
    stamp: Stamp,
    crew: Crew,
    person: Person,
    first_day: date,
    last_day: date | None = None,
    is_lead: bool = False,
) -> CrewMembership:
    """Put a person on a crew from a day on; without a last day, until it is ended."""
    row = CrewMembership(crew=crew, person=person, is_lead=is_lead, first_day=first_day, last_day=last_day)
    return row_add(row, stamp=stamp, verb="crew_member_add", findings=_wrong_with_days(row))


@writing()
def crew_member_edit(
    *, member: CrewMembership, values: dict[str, Any], read: str | None = None, stamp: Stamp
) -> CrewMembership:
    """Correct a member's first or last day, or who was the lead in those days."""
    proposed = CrewMembership.objects.select_related("person").get(pk=member.pk)
    for name, value in values.items():
        setattr(proposed, name, value)
    _wrong_with_days(proposed).refuse("The membership was not changed.")
    return unversioned_edit(member, stamp=stamp, verb="crew_member_edit", read=read, values=values)


@writing()
def crew_member_end(*, member: CrewMembership, last_day: date, read: str | None = None, stamp: Stamp) -> CrewMembership:
    """The person is on the crew to that day and no longer."""
    found = Findings()
    found.days_in_order(member.first_day, last_day)
    if member.last_day is not None:
        message = f"It ends on {member.last_day} already; correct its days to make it longer."
        found.need(last_day <= member.last_day, "last_day", message)
    found.refuse("The membership was not ended.")
    return unversioned_edit(member, stamp=stamp, verb="crew_member_end", read=read, values={"last_day": last_day})


@writing()
def crew_lead_change(*, crew: Crew, person: Person, from_day: date, stamp: Stamp) -> CrewMembership:
    """The person leads the crew from a day on, and who led until then stays on it. Days before keep their lead."""
    there = list(_on(from_day).filter(crew=crew).select_related("person", "crew"))
    mine = next((member for member in there if member.person_id == person.pk), None)
    if mine is None:
        message = f"{person} is not on {crew} on {from_day}: add them to the crew first."
        raise Invalid("The lead was not changed.", [FieldError("person", message)])
    for member in there:
        if member.is_lead and member.pk != mine.pk:
            _lead_from(member, from_day, is_lead=False, stamp=stamp)
    return mine if mine.is_lead else _lead_from(mine, from_day, is_lead=True, stamp=stamp)


def _lead_from(member: CrewMembership, day: date, *, is_lead: bool, stamp: Stamp) -> CrewMembership:
    """From the day on the lead or not; where it began before, it is split at the day."""
    if member.first_day == day:
        values = {"is_lead": is_lead}
        return unversioned_edit(member, stamp=stamp, verb="crew_member_edit", read=None, values=values)
    last_day = member.last_day
    crew_member_end(member=member, last_day=day - timedelta(days=1), stamp=stamp)
    return crew_member_add(
        stamp=stamp, crew=member.crew, person=member.person, first_day=day, last_day=last_day, is_lead=is_lead
    )


def _on(day: date) -> Any:
    return CrewMembership.objects.filter(Q(last_day__isnull=True) | Q(last_day__gte=day), first_day__lte=day)


def _wrong_with_days(row: CrewMembership) -> Findings:
    """A person is on one crew at a time: a day's hours count once."""
    found = Findings()
    found.days_in_order(row.first_day, row.last_day)
    held = CrewMembership.objects.filter(
        Q(last_day__isnull=True) | Q(last_day__gte=row.first_day), person=row.person
    ).exclude(pk=row.pk)
    if row.last_day is not None:
        held = held.filter(first_day__lte=row.last_day)
    other = held.select_related("crew").order_by("first_day", "id").first()
    message = f"{row.person} is on {other.crew} from {other.first_day} on." if other else ""
    found.need(other is None, "person", message)
    return found
