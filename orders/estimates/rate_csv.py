"""Rates as CSV (RFC 4180) and back, to the letter: what was written out is read in again as it was."""

import csv
import io
from collections.abc import Iterable, Mapping

from orders.common.errors import FieldError, Invalid
from orders.estimates.convert import RATE_COLUMNS

# What a spreadsheet would run as a formula (OWASP "CSV Injection"), full-width forms included
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")
NEEDED_COLUMNS = ("kind", "value", "source")
REFUSED = "The rates cannot be read."


def rates_csv(rows: Iterable[Mapping[str, str]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(RATE_COLUMNS)
    writer.writerows([_guarded(row[name]) for name in RATE_COLUMNS] for row in rows)
    return out.getvalue()


def rates_from_csv(text: str) -> list[dict[str, str]]:
    """The rows by their columns' names; a cell that is missing is empty. What the columns mean is checked later."""
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    try:
        lines = [line for line in reader if any(cell.strip() for cell in line)]
    except csv.Error as error:
        raise Invalid(REFUSED, [FieldError("csv", f"is no CSV: {error}", reader.line_num)]) from error
    columns = [name.strip() for name in lines[0]] if lines else []
    _columns_check(columns)
    found = [FieldError("csv", _too_long(line, columns), row) for row, line in enumerate(lines[1:], start=1)]
    errors = [error for error in found if error.message]
    if errors:
        raise Invalid(REFUSED, errors)
    return [dict(zip(columns, map(_unguarded, line), strict=False)) for line in lines[1:]]


def _columns_check(columns: list[str]) -> None:
    unknown = [name for name in columns if name not in RATE_COLUMNS]
    twice = {name for name in columns if columns.count(name) > 1}
    errors = [FieldError("csv", f"has a column {name[:60]!r} that a rate book does not know") for name in unknown]
    errors += [FieldError("csv", f"has the column {name[:60]!r} twice") for name in sorted(twice)]
    errors += [FieldError("csv", f"lacks the column {name!r}") for name in NEEDED_COLUMNS if name not in columns]
    if errors:
        names = ", ".join(RATE_COLUMNS)
        raise Invalid(f"{REFUSED} The first row must name the columns: {names}.", errors[:20])


def _too_long(line: list[str], columns: list[str]) -> str:
    extra = len(line) - len(columns)
    return f"has {extra} more cells than the first row has columns" if extra > 0 else ""


def _guarded(text: str) -> str:
    """A cell that could be read as a formula gets an apostrophe; a plain number cannot, whatever its sign."""
    return f"'{text}" if _is_risky(text) and not _is_number(text) else text


def _unguarded(text: str) -> str:
    return text[1:] if text.startswith("'") and _is_risky(text) else text


def _is_risky(text: str) -> bool:
    """Also behind apostrophes, so that what had one of its own keeps it through a round trip."""
    return text.lstrip("'").startswith(FORMULA_STARTS)


def _is_number(text: str) -> bool:
    """Plain digits with sign and point: `float` would also take words and underscores."""
    return text.lstrip("+-").replace(".", "", 1).isascii() and text.lstrip("+-").replace(".", "", 1).isdigit()
