"""Budgets as CSV (RFC 4180) and back: what was written out is read in again as it was."""

import csv
import io
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from orders.common.errors import FieldError, Invalid
from orders.common.spreadsheets import FORMULA_STARTS, text_guarded
from orders.costs.models import CATEGORIES, Award, Budget, Fund
from orders.sites.models import Site

COLUMNS = ("fund", "award", "site", "category", "month", "amount", "note")
NEEDED = ("fund", "amount")
REFUSED = "The budgets cannot be read."
MOST_ROWS = 5_000
AMOUNT = re.compile(r"[0-9]{1,11}(?:\.[0-9]{1,2})?")
MONTH = re.compile(r"[0-9]{4}-(?:0[1-9]|1[0-2])")


@dataclass(frozen=True)
class BudgetLine:
    """A row of the file, looked up. `number` counts from 1 below the heading."""

    number: int
    fund: Fund
    award: Award | None
    site: Site | None
    category: str
    month: date | None
    amount_cents: int
    note: str


def budgets_csv(rows: Iterable[Budget]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows([text_guarded(cell) for cell in _cells(row)] for row in rows)
    return out.getvalue()


def _cells(row: Budget) -> list[str]:
    return [
        row.fund.code,
        row.award.code if row.award else "",
        row.site.code if row.site else "",
        row.category,
        f"{row.month:%Y-%m}" if row.month else "",
        f"{Decimal(row.amount_cents) / 100:.2f}",
        row.note,
    ]


def budgets_read(text: str) -> list[BudgetLine]:
    """The rows, each looked up; everything that is wrong is told at once, by row and column."""
    table = _table(text)
    known = _Known()
    errors: list[FieldError] = []
    lines = [_line(number, cells, known, errors) for number, cells in enumerate(table, start=1)]
    if errors:
        raise Invalid(REFUSED, errors[:50])
    return [line for line in lines if line is not None]


def _table(text: str) -> list[dict[str, str]]:
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    try:
        rows = [row for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise Invalid(REFUSED, [FieldError("csv", f"is no CSV: {error}", reader.line_num)]) from error
    names = [name.strip() for name in rows[0]] if rows else []
    wrong = [name for name in names if name not in COLUMNS] or [name for name in NEEDED if name not in names]
    if wrong or len(set(names)) < len(names):
        raise Invalid(REFUSED, [FieldError("csv", f"the first row must name the columns {', '.join(COLUMNS)}")])
    if len(rows) - 1 > MOST_ROWS:
        raise Invalid(REFUSED, [FieldError("csv", f"holds more than {MOST_ROWS:,} rows")])
    long = [FieldError("csv", "has too many cells", n) for n, row in enumerate(rows[1:], 1) if len(row) > len(names)]
    if long:
        raise Invalid(REFUSED, long[:50])
    return [{name: _plain(cell) for name, cell in zip(names, row, strict=False)} for row in rows[1:]]


def _plain(cell: str) -> str:
    cell = cell.strip()
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(FORMULA_STARTS) else cell


class _Known:
    """What the cells may name, read once."""

    def __init__(self) -> None:
        self.funds = {row.code: row for row in Fund.objects.all()}
        self.awards = {row.code: row for row in Award.objects.all()}
        self.sites = {row.code: row for row in Site.objects.all()}


def _line(number: int, cells: dict[str, str], known: _Known, errors: list[FieldError]) -> BudgetLine | None:
    def named(column: str, rows: dict[str, Any]) -> Any:
        code = cells.get(column, "")
        if code and code not in rows:
            errors.append(FieldError(column, f"There is none with the code {code[:40]!r}.", number))
        return rows.get(code)

    def need(right: bool, column: str, message: str) -> None:
        if not right:
            errors.append(FieldError(column, message, number))

    before = len(errors)
    fund, award, site = named("fund", known.funds), named("award", known.awards), named("site", known.sites)
    category, month, amount = (cells.get(column, "") for column in ("category", "month", "amount"))
    need(bool(cells.get("fund")), "fund", "Name the fund.")
    need(not category or category in dict(CATEGORIES), "category", "There is no such category.")
    need(not month or MONTH.fullmatch(month) is not None, "month", "Must be a month such as 2027-03.")
    need(AMOUNT.fullmatch(amount) is not None, "amount", "Must be dollars such as 1250.00, 0 or more.")
    if len(errors) > before:
        return None
    first = date.fromisoformat(f"{month}-01") if month else None
    cents = int(Decimal(amount) * 100)
    return BudgetLine(number, fund, award, site, category, first, cents, cells.get("note", ""))
