"""Methods and the first rate books of a program, whose rows are CSV files beside the document."""

import csv
import io
from pathlib import Path
from typing import Any

from orders.common.errors import FieldError
from orders.common.stamp import Stamp
from orders.crews.models import QualificationKind
from orders.desk.documents import REFUSED, Entry, Misread, Rows, anything, day, no_other_lists, text
from orders.estimates.rate_csv import rates_from_csv
from orders.estimates.services import methods_load, rate_book_draft, rate_book_put_in_force
from orders.supplies.models import Mix

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
    return len(methods_load(rows=listed, qualification=qualification, mix=mix, stamp=stamp))


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
    name = entry.get("rows", text)
    try:
        return (folder / name).read_bytes().decode("utf-8")
    except OSError as error:
        raise Misread(
            REFUSED, errors=[FieldError(f"{FILE}: rows", f"cannot read {name}: {error.strerror}.")]
        ) from error
