"""Headings of a table that can be sorted by them; the order stands in the address, the rest of which stays."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.db.models import F, OrderBy
from django.http import QueryDict


@dataclass(frozen=True)
class Sortable:
    """A column: its heading, what it is sorted by, and whether it is a number (then the largest comes first)."""

    heading: str
    field: str = ""
    is_number: bool = False


@dataclass(frozen=True)
class Heading:
    """A column's heading as it is shown; `sorted` is for aria-sort, an empty address cannot be sorted by."""

    heading: str
    address: str
    sorted: str
    is_number: bool


def sort_asked(columns: Mapping[str, Sortable], wanted: str, usual: str) -> str:
    """The order that an address asks for, or the usual one where it names none."""
    found = columns.get(wanted.removeprefix("-"))
    return wanted if found and found.field else usual


def ordering(columns: Mapping[str, Sortable], sort: str) -> list[OrderBy | str]:
    """For `order_by`: rows without the figure last, whichever way it goes; the newest first among equals."""
    field = F(columns[sort.removeprefix("-")].field)
    turned = field.desc(nulls_last=True) if sort.startswith("-") else field.asc(nulls_last=True)
    return [turned, "-id"]


def headings(columns: Mapping[str, Sortable], sort: str, said: QueryDict, prefix: str = "") -> list[Heading]:
    """Each heading with the address that sorts by it, or turns the order round. `prefix` is before the names in the
    address of a second list on one page."""
    return [_heading(name, column, sort, said.copy(), prefix) for name, column in columns.items()]


def _heading(name: str, column: Sortable, sort: str, said: QueryDict, prefix: str) -> Heading:
    first = f"-{name}" if column.is_number else name
    turned = name if first.startswith("-") else f"-{name}"
    said[f"{prefix}sort"] = turned if sort == first else first
    said.pop(f"{prefix}page", None)
    direction = "descending" if sort.startswith("-") else "ascending"
    is_sorted = sort.removeprefix("-") == name
    address = f"?{said.urlencode()}" if column.field else ""
    return Heading(column.heading, address, direction if is_sorted else "", column.is_number)
