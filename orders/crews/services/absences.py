"""Writes of days off, of one person or of a whole crew."""

from datetime import date
from typing import Any

from orders.common.rows import Findings, row_add, unversioned_edit, unversioned_remove
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Absence, Crew, Person


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


@writing()
def absence_edit(*, absence: Absence, values: dict[str, Any], read: str | None = None, stamp: Stamp) -> Absence:
    """Correct the days or the reason. Whose days off they are stays."""
    found = Findings()
    first, last = values.get("first_day", absence.first_day), values.get("last_day", absence.last_day)
    found.days_in_order(first, last)
    found.refuse("The days off were not changed.")
    return unversioned_edit(absence, stamp=stamp, verb="absence_edit", read=read, values=values)


@writing()
def absence_remove(*, absence: Absence, read: str | None = None, stamp: Stamp) -> None:
    """Take days off back; the record of changes keeps what they were."""
    unversioned_remove(absence, stamp=stamp, verb="absence_remove", read=read)
