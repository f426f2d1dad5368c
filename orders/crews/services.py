"""People, what they may do, their crews, when they are away, and the standard rates of their roles."""

from datetime import date
from decimal import Decimal

from django.db.models import Q

from orders.common.models import User
from orders.common.rows import Findings, row_add
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import (
    Absence,
    Crew,
    CrewMembership,
    LaborRole,
    Person,
    Qualification,
    QualificationKind,
    StandardRate,
)
from orders.sites.models import Jurisdiction


@writing()
def labor_role_add(*, stamp: Stamp, code: str, name: str) -> LaborRole:
    return row_add(LaborRole(code=code, name=name), stamp=stamp, verb="labor_role_add")


@writing()
def standard_rate_set(*, stamp: Stamp, role: LaborRole, from_day: date, rate_e4: int, source: str) -> StandardRate:
    """Set the rate of a role from a day on; the rates before stay, so that older days keep theirs."""
    found = Findings()
    found.money(rate_e4, "rate_e4")
    row = StandardRate(role=role, from_day=from_day, rate_e4=rate_e4, source=source)
    return row_add(row, stamp=stamp, verb="standard_rate_set", findings=found)


@writing()
def person_add(
    *,
    stamp: Stamp,
    name: str,
    person_type: str,
    role: LaborRole,
    user: User | None = None,
    born_on: date | None = None,
    email: str = "",
) -> Person:
    row = Person(name=name, person_type=person_type, role=role, user=user, born_on=born_on, email=email)
    return row_add(row, stamp=stamp, verb="person_add")


@writing()
def qualification_kind_add(*, stamp: Stamp, code: str, name: str, is_license: bool = False) -> QualificationKind:
    row = QualificationKind(code=code, name=name, is_license=is_license)
    return row_add(row, stamp=stamp, verb="qualification_kind_add")


@writing()
def qualification_add(
    *,
    stamp: Stamp,
    person: Person,
    kind: QualificationKind,
    first_day: date,
    last_day: date,
    jurisdiction: Jurisdiction | None = None,
    number: str = "",
    category: str = "",
    supervised_by: Person | None = None,
) -> Qualification:
    """Record what a person may do, and until when. A license names its jurisdiction: it holds nowhere else."""
    found = Findings()
    found.days_in_order(first_day, last_day)
    placed = not kind.is_license or jurisdiction is not None
    found.need(placed, "jurisdiction", "A license says where it holds.")
    found.need(supervised_by != person, "supervised_by", "Nobody supervises themselves.")
    row = Qualification(
        person=person,
        kind=kind,
        jurisdiction=jurisdiction,
        number=number,
        category=category,
        supervised_by=supervised_by,
        first_day=first_day,
        last_day=last_day,
    )
    return row_add(row, stamp=stamp, verb="qualification_add", findings=found)


@writing()
def crew_add(*, stamp: Stamp, name: str, hours_a_day: Decimal = Decimal(8), works_weekdays: str = "1111100") -> Crew:
    """Add a crew. `works_weekdays` is one figure a day, Monday first: 1 works, 0 does not."""
    found = Findings()
    seven = len(works_weekdays) == 7 and set(works_weekdays) <= {"0", "1"} and "1" in works_weekdays
    found.need(seven, "works_weekdays", "Seven figures, Monday first: 1 works, 0 does not; one day at least.")
    found.need(0 < hours_a_day <= 24, "hours_a_day", "Must be more than 0 and at most 24.")
    row = Crew(name=name, hours_a_day=hours_a_day, works_weekdays=works_weekdays)
    return row_add(row, stamp=stamp, verb="crew_add", findings=found)


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
    found = Findings()
    found.days_in_order(first_day, last_day)
    held = _membership_between(person, first_day, last_day)
    found.need(held is None, "person", f"{person} is on {held.crew} from {held.first_day} on." if held else "")
    row = CrewMembership(crew=crew, person=person, is_lead=is_lead, first_day=first_day, last_day=last_day)
    return row_add(row, stamp=stamp, verb="crew_member_add", findings=found)


def _membership_between(person: Person, first_day: date, last_day: date | None) -> CrewMembership | None:
    """A person is on one crew at a time: a day's hours count once."""
    held = CrewMembership.objects.filter(Q(last_day__isnull=True) | Q(last_day__gte=first_day), person=person)
    if last_day is not None:
        held = held.filter(first_day__lte=last_day)
    return held.select_related("crew").order_by("first_day", "id").first()


@writing()
def absence_add(
    *,
    stamp: Stamp,
    first_day: date,
    last_day: date,
    why: str,
    crew: Crew | None = None,
    person: Person | None = None,
) -> Absence:
    """Days off of one person, or of a whole crew."""
    found = Findings()
    found.days_in_order(first_day, last_day)
    found.need((crew is None) != (person is None), "person", "Name either a person or a crew.")
    row = Absence(crew=crew, person=person, first_day=first_day, last_day=last_day, why=why)
    return row_add(row, stamp=stamp, verb="absence_add", findings=found)
