"""Rate books in words: rows by method, and what each change of a book was."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from orders.common.models import Change
from orders.desk.templatetags.desk import days_said
from orders.desk.templatetags.rates import figure_name
from orders.desk.templatetags.units import factor_name
from orders.estimates.models import Rate, RateBook

ALL_METHODS = "All methods"


@dataclass(frozen=True)
class MethodRates:
    """The rows of one method, by kind and then as the book has them."""

    code: str
    name: str
    rows: tuple[Rate, ...]


def rates_by_method(book: RateBook, names: Mapping[str, str], asked: Mapping[str, str]) -> list[MethodRates]:
    """Rows that the question lets through; what holds for all methods comes last."""
    rows = [row for row in book.rates.order_by("line") if _is_asked(row, asked)]
    codes = sorted({row.method for row in rows}, key=lambda code: (not code, code))
    return [
        MethodRates(code, names.get(code, code) or ALL_METHODS, tuple(row for row in rows if row.method == code))
        for code in codes
    ]


def _is_asked(row: Rate, asked: Mapping[str, str]) -> bool:
    text = asked.get("q", "").lower()
    words = f"{figure_name(row.step)} {figure_name(row.driver)}"
    found = not text or text in f"{row.step} {row.driver} {words} {row.source} {row.growth_form}".lower()
    return found and asked.get("method", "") in ("", row.method) and asked.get("kind", "") in ("", row.kind)


@dataclass(frozen=True)
class Told:
    """One change of a book: when, by whom, and lines that say what."""

    change: Change
    title: str
    lines: tuple[str, ...]


TITLES = {
    "rate_book_draft": "Drafted",
    "rate_book_copy": "Copied into a new draft",
    "rate_book_edit": "Crew, skills or notes changed",
    "rate_book_put_in_force": "Put in force",
    "rate_book_retire": "Retired",
    "rate_add": "Row added",
    "rate_edit": "Row changed",
    "rate_remove": "Row removed",
    "rates_import": "All rates replaced by a file",
    "estimates_make": "Estimates made by it",
}
MOST_LINES = 40
PLACE = ("kind", "method", "step", "growth_form", "driver")
NAMED = frozenset({"step", "driver"})
STATES = {code: str(words).lower() for code, words in RateBook.STATES}


def changes_told(changes: Iterable[Change]) -> list[Told]:
    return [Told(change, TITLES.get(change.verb, change.verb), tuple(_lines(change))) for change in changes]


def _lines(change: Change) -> list[str]:
    before, after = change.before or {}, change.after or {}
    if change.verb == "rates_import":
        listed = after.get("changes", [])
        more = [f"and {len(listed) - MOST_LINES} more"] if len(listed) > MOST_LINES else []
        return [_row_line(row) for row in listed[:MOST_LINES]] + more
    named = [name for name in before if name not in after] if change.verb == "rate_edit" else []
    where = [" ".join(_said(name, before[name]) for name in named if before[name])] if named else []
    names = dict.fromkeys([*before, *after])
    return where + [_value_line(name, before, after) for name in names if name not in named]


def _value_line(name: str, before: Mapping[str, Any], after: Mapping[str, Any]) -> str:
    label = name.replace("_", " ").capitalize()
    if name in before and name in after and before[name] != after[name]:
        return f"{label}: {_said(name, before[name])} → {_said(name, after[name])}"
    return f"{label}: {_said(name, after.get(name, before.get(name)))}"


def _row_line(row: Mapping[str, Any]) -> str:
    place = " ".join(_said(name, row[name]) for name in PLACE if row.get(name))
    values = "; ".join(f"{factor_name(name)} {old or '–'} → {new or '–'}" for name, (old, new) in row["values"].items())
    return f"{row['change']} {place}: {values}"


def _said(name: str, value: Any) -> str:
    """A step or what it goes by in words, anything else as it is."""
    return figure_name(str(value)) if name in NAMED and value else _shown(value)


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{name} {held}" for name, held in value.items())
    if value in ("", None):
        return "–"
    return STATES.get(str(value)) or days_said(str(value))
