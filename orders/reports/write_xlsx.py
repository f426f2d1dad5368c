"""A report as a workbook. Rows are written as they go by and leave memory; a total is a formula with its value."""

from datetime import date
from fractions import Fraction
from itertools import chain, islice
from pathlib import Path
from typing import Any

import xlsxwriter
from xlsxwriter.utility import xl_range_abs

from orders.reports.about import About
from orders.reports.cells import cell_shown
from orders.reports.table import Column, Table
from orders.reports.walk import Walk

MOST_ROWS = 1_000_000  # of one sheet; the format itself ends at 1,048,576
MEASURED_ROWS = 200  # the widths of columns are those of the first rows
NARROWEST, WIDEST = 8, 48
MOST_TEXT = 32_767  # characters of one cell, the format's own limit
FORMATS = {
    "cents": "#,##0.00",
    "minutes": "#,##0.00",
    "number": "General",
    "percent": "0.0%",
    "day": "yyyy-mm-dd",
    "month": "yyyy-mm",
    "whole": "#,##0",
    "area_m2": "#,##0.0",
    "text": "@",
}


def xlsx_write(walk: Walk, path: Path, about: About) -> None:
    """Everything temporary is written beside the file, where a run's folder is cleaned."""
    options = {
        "constant_memory": True,
        "tmpdir": str(path.parent),
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
    }
    with xlsxwriter.Workbook(str(path), options) as book:
        made_at = about.made_at.replace(tzinfo=None)
        book.set_properties({"title": walk.table.title, "author": about.made_for, "created": made_at})
        _Sheets(book, walk).write()
        _about_write(book, walk.table, about)


class _Sheets:
    """The rows, on as many sheets as they need; the total under the last."""

    def __init__(self, book: xlsxwriter.Workbook, walk: Walk) -> None:
        self.book, self.walk, self.table = book, walk, walk.table
        self.formats = {kind: book.add_format({"num_format": words}) for kind, words in FORMATS.items()}
        self.bold = {kind: book.add_format({"num_format": words, "bold": True}) for kind, words in FORMATS.items()}
        self.head = book.add_format({"bold": True, "text_wrap": True, "bottom": 1})
        self.title = book.add_format({"bold": True, "font_size": 14})
        self.first_row = 2 + len(self.table.told)
        self.sheets: list[tuple[str, int]] = []  # name, and the row after its last

    def write(self) -> None:
        rows = self.walk.rows()
        measured = list(islice(rows, MEASURED_ROWS))
        widths = _widths(self.table.columns, measured)
        waiting = chain(measured, rows)
        following: tuple[Any, ...] | None = next(waiting, None)
        while following is not None or not self.sheets:
            sheet = self._begin(widths)
            at = self.first_row
            while following is not None and at < self.first_row + MOST_ROWS:
                self._row(sheet, at, following, self.formats)
                at += 1
                following = next(waiting, None)
            self._end(sheet, at)
        self._total(sheet, at)

    def _begin(self, widths: list[int]) -> Any:
        name = "Rows" if not self.sheets else f"Rows {len(self.sheets) + 1}"
        sheet = self.book.add_worksheet(name)
        for place, width in enumerate(widths):
            sheet.set_column(place, place, width)
        sheet.freeze_panes(self.first_row, 1)
        sheet.repeat_rows(self.first_row - 1)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.set_footer("&L&A&RPage &P of &N")
        sheet.write_string(0, 0, self.table.title, self.title)
        for at, line in enumerate(self.table.told, start=1):
            sheet.write_string(at, 0, line)
        for place, column in enumerate(self.table.columns):
            sheet.write_string(self.first_row - 1, place, column.heading, self.head)
        return sheet

    def _end(self, sheet: Any, after: int) -> None:
        sheet.autofilter(self.first_row - 1, 0, max(after - 1, self.first_row - 1), len(self.table.columns) - 1)
        self.sheets.append((sheet.get_name(), after))

    def _row(self, sheet: Any, at: int, row: tuple[Any, ...], formats: dict[str, Any]) -> None:
        for place, (value, column) in enumerate(zip(row, self.table.columns, strict=True)):
            _cell(sheet, at, place, value, column, formats)

    def _total(self, sheet: Any, at: int) -> None:
        total = self.walk.total()
        if total is None:
            return
        for place, (value, column) in enumerate(zip(total, self.table.columns, strict=True)):
            if column.total and self.walk.count:
                shown = _number(value, column)
                sheet.write_formula(at, place, self._sum(place), self.bold[column.kind], shown)
            else:
                _cell(sheet, at, place, value, column, self.bold)

    def _sum(self, place: int) -> str:
        """Over the column on every sheet that has rows."""
        ranges = []
        for name, after in self.sheets:
            cells = xl_range_abs(self.first_row, place, after - 1, place)
            ranges.append(cells if len(self.sheets) == 1 else f"'{name}'!{cells}")
        return f"=SUM({','.join(ranges)})"


def _cell(sheet: Any, at: int, place: int, value: Any, column: Column, formats: dict[str, Any]) -> None:
    """Text by its own call: whatever it begins with, it is never a formula, a number or a link."""
    if value is None:
        return
    if isinstance(value, str) or column.kind == "text":
        sheet.write_string(at, place, str(value)[:MOST_TEXT], formats["text"])
    elif isinstance(value, date):
        sheet.write_datetime(at, place, value, formats[column.kind])
    else:
        sheet.write_number(at, place, _number(value, column), formats[column.kind])


def _number(value: Any, column: Column) -> float:
    scale = {"cents": 100, "minutes": 60, "percent": 100}.get(column.kind, 1)
    return float(Fraction(value) / scale)


def _widths(columns: tuple[Column, ...], rows: list[tuple[Any, ...]]) -> list[int]:
    found = []
    for place, column in enumerate(columns):
        longest = max((len(cell_shown(row[place], column.kind)) for row in rows), default=0)
        words = max((len(word) for word in column.heading.split()), default=0)
        found.append(min(max(longest + 2, words + 4, NARROWEST), WIDEST))
    return found


def _about_write(book: xlsxwriter.Workbook, table: Table, about: About) -> None:
    sheet = book.add_worksheet("About")
    sheet.set_column(0, 0, 14)
    sheet.set_column(1, 1, 90)
    bold = book.add_format({"bold": True, "valign": "top"})
    wrapped = book.add_format({"text_wrap": True})
    lines = [
        ("Program", about.program),
        ("Report", table.title),
        *(("Shown", line) for line in table.told),
        ("Made", about.made),
        ("Proof", about.proof),
        ("Money", "Dollars; each total is a formula over the rows above it. Hours are decimal hours."),
    ]
    for at, (name, words) in enumerate(lines):
        sheet.write_string(at, 0, name, bold)
        sheet.write_string(at, 1, words, wrapped)
