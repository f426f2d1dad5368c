"""Writes of the rates of a draft. The whole book is checked before a row is stored."""

from collections.abc import Mapping, Sequence
from typing import Any

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, NotFound, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.estimates import convert
from orders.estimates.models import Rate, RateBook
from orders.estimates.rate_csv import rates_from_csv
from orders.estimates.rate_difference import changes_plain, rate_changes

REFUSED = "The rates were not changed."


@writing()
def rate_add(
    *, book: RateBook, values: Mapping[str, str], after_line: int | None = None, expected: int, stamp: Stamp
) -> RateBook:
    """Add a row to a draft, after a line or at the end. The lines behind it move down by one."""
    rows = _draft_rows(book)
    place = len(rows) if after_line is None else after_line
    if not 0 <= place <= len(rows):
        raise Invalid(REFUSED, [FieldError("after_line", f"must be from 0 to {len(rows)}")])
    row = _row(values)
    rows.insert(place, row)
    return _rates_put(book, rows, expected, stamp, "rate_add", after={"line": place + 1, **_told(row)})


@writing()
def rate_edit(*, book: RateBook, line: int, values: Mapping[str, str], expected: int, stamp: Stamp) -> RateBook:
    """Change columns of one row of a draft; those not named stay. Nothing to change: nothing recorded."""
    rows = _draft_rows(book)
    old = _at(rows, line)
    new = {**old, **_row(values, of=values)}
    changed = [name for name in convert.RATE_COLUMNS if old[name] != new[name]]
    if not changed and book.version == expected:
        return book
    rows[line - 1] = new
    named = {name: old[name] for name in ("kind", "method", "step", "growth_form")}
    before = {"line": line, **named, **{name: old[name] for name in changed}}
    after = {"line": line, **{name: new[name] for name in changed}}
    return _rates_put(book, rows, expected, stamp, "rate_edit", before=before, after=after)


@writing()
def rate_remove(*, book: RateBook, line: int, expected: int, stamp: Stamp) -> RateBook:
    """Take a row out of a draft. The lines behind it move up by one."""
    rows = _draft_rows(book)
    _at(rows, line)
    old = rows.pop(line - 1)
    return _rates_put(book, rows, expected, stamp, "rate_remove", before={"line": line, **_told(old)})


@writing()
def rates_import(*, book: RateBook, text: str, expected: int, stamp: Stamp) -> RateBook:
    """Replace all rates of a draft by those of a CSV text; the record names each row that changed."""
    old = _draft_rows(book)
    new = [_row(row) for row in rates_from_csv(text)]
    found = changes_plain(rate_changes(old, new))
    return _rates_put(book, new, expected, stamp, "rates_import", after={"rates": len(new), "changes": found})


def rows_checked(rows: Sequence[Mapping[str, str]]) -> list[dict[str, str]]:
    """Rows with every column, each short enough to store, that make a book together."""
    full = [_row(row) for row in rows]
    errors = [
        FieldError(name, f"is longer than {most} characters", number, "max_length")
        for number, row in enumerate(full, start=1)
        for name, most in LONGEST.items()
        if len(row[name]) > most
    ]
    errors += [
        FieldError(name, "holds a character that text cannot have", number)
        for number, row in enumerate(full, start=1)
        for name in convert.RATE_COLUMNS
        if "\0" in row[name]
    ]
    if errors:
        raise Invalid(REFUSED, errors)
    convert.rates_checked(full)
    return full


LONGEST: dict[str, int] = {
    field.name: field.max_length or 0 for field in Rate._meta.concrete_fields if field.name in convert.RATE_COLUMNS
}


def rates_store(book: RateBook, rows: Sequence[Mapping[str, str]]) -> None:
    book.rates.all().delete()
    Rate.objects.bulk_create(Rate(book=book, line=line, **row) for line, row in enumerate(rows, start=1))


def draft_only(book: RateBook) -> None:
    """Looked up anew: somebody may have put it in force since it was read."""
    state = RateBook.objects.filter(pk=book.pk).values_list("state", flat=True).first()
    if state != "draft":
        word = dict(RateBook.STATES).get(state or "", "gone").lower()
        raise WrongState(f"{book} is {word}; only a draft can be changed. Copy it into a new draft.")


def _draft_rows(book: RateBook) -> list[dict[str, str]]:
    draft_only(book)
    return convert.rate_rows(book)


def _row(values: Mapping[str, str], of: Mapping[str, str] | None = None) -> dict[str, str]:
    """All columns as text without outer spaces, or only those named by `of`; a column that is not known is refused."""
    unknown = [
        FieldError(name[:60], "is no column of a rate book") for name in values if name not in convert.RATE_COLUMNS
    ]
    if unknown:
        raise Invalid(REFUSED, unknown)
    named = convert.RATE_COLUMNS if of is None else tuple(of)
    return {name: (values.get(name) or "").strip() for name in named}


def _at(rows: Sequence[dict[str, str]], line: int) -> dict[str, str]:
    if not 1 <= line <= len(rows):
        raise NotFound(f"The rate book has no line {line}.")
    return rows[line - 1]


def _told(row: Mapping[str, str]) -> dict[str, str]:
    return {name: value for name, value in row.items() if value}


def _rates_put(
    book: RateBook, rows: Sequence[Mapping[str, str]], expected: int, stamp: Stamp, verb: str, **told: Any
) -> RateBook:
    checked = rows_checked(rows)
    version_bump(book, expected=expected)
    rates_store(book, checked)
    change_record(stamp=stamp, verb=verb, entity=book, **told)
    return book
