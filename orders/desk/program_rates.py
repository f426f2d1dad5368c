"""Methods and the first rate books of a program, whose rows are CSV files beside the document."""

import csv
import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

from orders.common.stamp import Stamp
from orders.crews.models import QualificationKind
from orders.desk.documents import Entry, Rows, anything, day, file_text, no_other_lists, text, whole
from orders.estimates.rate_csv import rates_from_csv
from orders.estimates.services import method_equipment_set, methods_load, rate_book_draft, rate_book_put_in_force
from orders.supplies.models import Equipment, Mix

FILE = "rates.json"


def rates_load(folder: Path, content: dict[str, Any], rows: Rows, stamp: Stamp) -> dict[str, int]:
    """Methods with what they need, and one rate book in force for each kind of crew; returns how many of each."""
    no_other_lists(FILE, content, {"about", "methods", "rate_books"})
    methods = Entry(FILE, "methods", 1, content.get("methods", {}))
    listed = content.get("rate_books", [])
    books = [Entry(FILE, "rate_books", number, book) for number, book in enumerate(listed, start=1)]
    added = {"methods": _methods(folder, methods, rows, stamp), "rate_books": len(books)}
    added["rates"] = sum(_rate_book(folder, book, stamp) for book in books)
    for entry in (methods, *books):
        entry.done()
    return added


def _methods(folder: Path, entry: Entry, rows: Rows, stamp: Stamp) -> int:
    qualification: dict[str, QualificationKind] = _named(entry, "qualification", rows, "qualification_kinds")
    mix: dict[str, Mix] = _named(entry, "mix", rows, "mixes")
    listed = list(csv.DictReader(io.StringIO(_text(folder, entry), newline="")))
    methods = methods_load(rows=listed, qualification=qualification, mix=mix, stamp=stamp)
    needs = entry.may("equipment", _needs(rows), {})
    for method in methods:
        if method.code in needs:
            method_equipment_set(method=method, units=needs.pop(method.code), stamp=stamp)
    for code in needs:
        entry.refuse("equipment", f"there is no method {code!r}.")
    return len(methods)


def _needs(rows: Rows) -> Callable[[Any], dict[str, dict[Equipment, int]]]:
    """A map from method code to what a crew has with it: how many of each kind."""
    kind = rows.one("equipment")

    def read(value: Any) -> dict[str, dict[Equipment, int]]:
        if not isinstance(value, dict) or not all(isinstance(units, dict) for units in value.values()):
            raise ValueError("must be an object of numbers by equipment, by method.")
        return {method: {kind(code): whole(count) for code, count in units.items()} for method, units in value.items()}

    return read


def _rate_book(folder: Path, entry: Entry, stamp: Stamp) -> int:
    listed = rates_from_csv(_text(folder, entry))
    book = rate_book_draft(
        name=entry.get("name", text),
        rows=listed,
        standard_crew=entry.get("standard_crew", anything),
        skill_roles=entry.get("skill_roles", anything),
        crew_kind=entry.may("crew_kind", text, "staff"),
        notes=entry.may("notes", text, ""),
        stamp=stamp,
    )
    rate_book_put_in_force(book=book, from_day=entry.get("from_day", day), stamp=stamp)
    return len(listed)


def _named(entry: Entry, field: str, rows: Rows, name: str) -> dict[str, Any]:
    """A map from method code to a row of an earlier list, by that row's key."""
    one = rows.one(name)
    found: dict[str, Any] = entry.may(field, anything, {})
    try:
        return {method: one(key) for method, key in found.items()}
    except ValueError as error:
        entry.refuse(field, str(error))


def _text(folder: Path, entry: Entry) -> str:
    return file_text(folder, FILE, "rows", entry.get("rows", text))
