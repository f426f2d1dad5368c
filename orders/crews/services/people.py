"""Writes of people: added, edited, taken out of use when they leave."""

from datetime import date
from typing import Any

from orders.common.models import User
from orders.common.rows import row_add, row_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import LaborRole, Person


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
def person_edit(*, person: Person, values: dict[str, Any], expected: int, stamp: Stamp) -> Person:
    """Change a person's name, kind, role, login, birthday or mail. What a person is paid is finance's own."""
    return row_edit(person, stamp=stamp, verb="person_edit", expected=expected, values=values)


@writing()
def person_deactivate(*, person: Person, expected: int, stamp: Stamp) -> Person:
    """A person who has left: counted on no crew from now on. Hours, records and places on crews stay as they were."""
    return row_edit(person, stamp=stamp, verb="person_deactivate", expected=expected, values={"is_active": False})


@writing()
def person_activate(*, person: Person, expected: int, stamp: Stamp) -> Person:
    """A person who is back, on the crews that have no last day for them."""
    return row_edit(person, stamp=stamp, verb="person_activate", expected=expected, values={"is_active": True})
