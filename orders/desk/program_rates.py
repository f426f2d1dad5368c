"""Methods and the first rate book of a program, whose rows are CSV files beside the document."""

import csv
from pathlib import Path
from typing import Any

from orders.common.errors import FieldError
from orders.common.stamp import Stamp
from orders.crews.models import QualificationKind
from orders.desk.documents import REFUSED, Entry, Misread, Rows, anything, day, no_other_lists, text
from orders.estimates.services import methods_load, rate_book_draft, rate_book_put_in_force
from orders.supplies.models import Mix

FILE = "rates.json"


def rates_load(folder: Path, content: dict[str, Any], rows: Rows, stamp: Stamp) -> dict[str, int]:
    """Methods with what they need, and the rate book put in force; returns how many of each."""
    no_other_lists(FILE, content, {"about", "methods", "rate_book"})
    methods = Entry(FILE, "methods", 1, content.get("methods", {}))
    book = Entry(FILE, "rate_book", 1, content.get("rate_book", {}))
    added = {"methods": _methods(folder, methods, rows, stamp), "rates": _rate_book(folder, book, stamp)}
    methods.done()
    book.done()
    return added


def _methods(folder: Path, entry: Entry, rows: Rows, stamp: Stamp) -> int:
    qualification: dict[str, QualificationKind] = _named(entry, "qualification", rows, "qualification_kinds")
    mix: dict[str, Mix] = _named(entry, "mix", rows, "mixes")
    listed = _csv(folder, entry)
    return len(methods_load(rows=listed, qualification=qualification, mix=mix, stamp=stamp))


def _rate_book(folder: Path, entry: Entry, stamp: Stamp) -> int:
    listed = _csv(folder, entry)
    book = rate_book_draft(
        name=entry.get("name", text),
        rows=listed,
        standard_crew=entry.get("standard_crew", anything),
        skill_roles=entry.get("skill_roles", anything),
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


def _csv(folder: Path, entry: Entry) -> list[dict[str, str]]:
    name = entry.get("rows", text)
    try:
        with (folder / name).open(newline="", encoding="utf-8") as file:
            return list(csv.DictReader(file))
    except OSError as error:
        raise Misread(
            REFUSED, errors=[FieldError(f"{FILE}: rows", f"cannot read {name}: {error.strerror}.")]
        ) from error
