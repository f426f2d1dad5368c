"""A list page as its address asks for it: sorted, a page of it, or all of it as a CSV file where it says `file=csv`."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse

from orders.common.models import User
from orders.desk.columns import Heading, Sortable, headings, ordering, sort_asked
from orders.desk.list_file import list_file
from orders.reports.cells import cents_text

NUMBER = re.compile(r"(\d+)", re.ASCII)
Told = str | int | float | date | datetime | None


@dataclass(frozen=True)
class ListFile:
    """What a list's file tells of each row, by the heading of its column."""

    name: str
    columns: Mapping[str, Callable[[Any], Told]]

    def reply(self, rows: Iterable[Any]) -> HttpResponse:
        return list_file(self.name, self.columns, ([cell(tell(row)) for tell in self.columns.values()] for row in rows))


@dataclass(frozen=True)
class Sorted:
    """All rows that an address asks for, in its order; `sort` is empty where that is the usual one."""

    found: QuerySet[Any] | Sequence[Any]
    sort: str
    headings: list[Heading]

    def page(self, number: Any, rows_a_page: int) -> Page[Any]:
        return Paginator(self.found, rows_a_page).get_page(number)


def rows_sorted(
    request: HttpRequest, rows: QuerySet[Any], columns: Mapping[str, Sortable], usual: str, prefix: str = ""
) -> Sorted:
    """What an address asks for and a list cannot be sorted by is as if it was not asked for; without a usual order the
    rows keep the one that they come in. The second list of a page has a prefix before the names in the address."""
    sort = sort_asked(columns, request.GET.get(f"{prefix}sort", ""), usual)
    found = rows.order_by(*ordering(columns, sort)) if sort else rows
    return Sorted(found, "" if sort == usual else sort, headings(columns, sort, request.GET, prefix))


def lines_sorted(
    request: HttpRequest, lines: Sequence[Any], columns: Mapping[str, Sortable], usual: str, prefix: str = ""
) -> Sorted:
    """As `rows_sorted`, of lines that no single query makes: equal ones stay in their order, those without the figure
    are last. They are read here only where they must be sorted."""
    sort = sort_asked(columns, request.GET.get(f"{prefix}sort", ""), usual)
    found = _turned(lines, columns[sort.removeprefix("-")].field, sort.startswith("-")) if sort else lines
    return Sorted(found, "" if sort == usual else sort, headings(columns, sort, request.GET, prefix))


def _turned(lines: Sequence[Any], field: str, is_descending: bool) -> list[Any]:
    told = [(_value(line, field.split("__")), line) for line in lines]
    known = sorted((one for one in told if one[0] is not None), key=lambda one: one[0], reverse=is_descending)
    return [line for _, line in known] + [line for value, line in told if value is None]


def _value(line: Any, path: list[str]) -> Any:
    """What stands at the end of the path; of text, capitals sort as small letters do and numbers in it as numbers."""
    for name in path:
        line = line.get(name) if isinstance(line, Mapping) else getattr(line, name, None)
    if not isinstance(line, str):
        return line
    return [int(part) if number % 2 else part for number, part in enumerate(NUMBER.split(line.casefold()))]


def file_asked(request: HttpRequest, which: str = "csv") -> bool:
    return request.method != "POST" and request.GET.get("file") == which


def cell(told: Told) -> str | int | float:
    """Days and moments as ISO 8601 has them; what is not known is empty."""
    if told is None:
        return ""
    if isinstance(told, datetime):
        return told.isoformat(timespec="minutes")
    return told.isoformat() if isinstance(told, date) else told


def person(user: User | None) -> str:
    return user.get_full_name() or user.get_username() if user else ""


def dollars(cents: int | None) -> float | None:
    """A number, not text: an amount below nothing is no formula."""
    return None if cents is None else float(cents_text(cents))


def hours(minutes: int | None) -> float | None:
    return None if minutes is None else round(minutes / 60, 2)
