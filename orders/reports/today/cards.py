"""A card says how many of one kind wait for the reader, names the first of them, and where all of them are listed."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, CREW_LEAD, FINANCE, PESTICIDE_SUPERVISOR
from orders.planning.models import Season

EVERY_ROLE = frozenset({COORDINATOR, CREW_LEAD, PESTICIDE_SUPERVISOR, FINANCE, ADMINISTRATOR})
DESK = frozenset({COORDINATOR, ADMINISTRATOR})
SAFETY = DESK | {PESTICIDE_SUPERVISOR}
GROUND = SAFETY | {CREW_LEAD}
MONEY = frozenset({FINANCE, ADMINISTRATOR})
FIRST = 3


@dataclass(frozen=True)
class Reader:
    """Who asks, when, on which day by the program's clock, and of which season."""

    actor: User
    at: datetime
    on: date
    season: Season | None


@dataclass(frozen=True)
class Line:
    """One of those that wait; `page` names the address that opens it, by its public id."""

    words: str
    about: str = ""
    page: str = ""
    key: UUID | None = None


@dataclass(frozen=True)
class Waiting:
    """`page` and `query` are where all of them are listed, `keys` the ids in its address."""

    count: int
    lines: Sequence[Line] = ()
    page: str = ""
    query: Mapping[str, str] = field(default_factory=dict)
    keys: tuple[UUID, ...] = ()


Find = Callable[[Reader], Waiting | None]


@dataclass(frozen=True, kw_only=True)
class Card:
    """`one` and `many` say what waits, with {count} in them."""

    code: str
    one: str
    many: str
    roles: frozenset[str]
    find: Find

    def words(self, count: int) -> str:
        return (self.one if count == 1 else self.many).format(count=f"{count:,}")


def waiting_of(rows: QuerySet[Any], line: Callable[[Any], Line], page: str, **query: str) -> Waiting | None:
    """Of a list of rows: one query for the number, and one for the first where there are any."""
    count = rows.count()
    return Waiting(count, [line(row) for row in rows[:FIRST]], page, query) if count else None


def waiting_in(found: Sequence[Any], line: Callable[[Any], Line], page: str, **query: str) -> Waiting | None:
    """The same of rows that were read already."""
    return Waiting(len(found), [line(row) for row in found[:FIRST]], page, query) if found else None


def days_away(day: date, on: date) -> str:
    """today, in 3 days, 2 days late"""
    days = (day - on).days
    if days == 0:
        return "today"
    plural = "" if abs(days) == 1 else "s"
    return f"in {days} day{plural}" if days > 0 else f"{-days} day{plural} late"


def due_in(day: date, on: date) -> str:
    """due today, due in 3 days, 2 days late"""
    told = days_away(day, on)
    return told if day < on else f"due {told}"


def names(parts: Iterable[str]) -> str:
    return ", ".join(part for part in parts if part)
