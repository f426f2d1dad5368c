"""A report's table as a page shows it: sorted, turned, each line with the address of what is behind it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator
from django.urls import reverse
from django.utils.http import urlencode

from orders.common.errors import FieldError, Invalid
from orders.desk.chart_svg import Chart
from orders.desk.charts import breakdown_bars, paired_bars, range_bars
from orders.reports.asking import WRONG
from orders.reports.catalog import Report
from orders.reports.lines import LazyRows, Line
from orders.reports.table import Column, Table

ROWS_A_PAGE = 100
MOST_DRAWN = 20
FIT_ON_PAPER = 10
NUMBERS = {"cents", "minutes", "number", "percent", "whole", "area_m2"}
PAIR = ("planned", "actual")
UNITS = {"cents": (100, "$"), "minutes": (60, "h")}


@dataclass(frozen=True)
class Heading:
    column: Column
    sort: str  # what a click asks for; empty where the rows cannot be sorted
    sorted: str  # for aria-sort; empty where the rows are not sorted by it

    @property
    def look(self) -> str:
        """The class of its cells."""
        if self.column.kind in NUMBERS:
            return "number"
        return "day" if self.column.kind in {"day", "month"} else ""


@dataclass(frozen=True)
class Shown:
    headings: tuple[Heading, ...]
    page: Page[Any]
    total: Sequence[Any] | None
    chart: Chart | None
    not_drawn: int
    left_out: tuple[str, ...]  # the headings of columns that files alone have

    @property
    def is_wide(self) -> bool:
        """More columns than paper has room for at the usual size."""
        return len(self.headings) > FIT_ON_PAPER


def shown(report: Report, table: Table, *, query: Mapping[str, str], sort: str, page: int | None) -> Shown:
    rows: Any = table.rows if isinstance(table.rows, LazyRows) else _sorted(list(table.rows), table.columns, sort)
    can_sort = not isinstance(rows, LazyRows)
    turned = Paginator(rows, ROWS_A_PAGE).get_page(page or 1)
    places = [place for place, column in enumerate(table.columns) if not column.is_for_files]
    lines = [(row, _address(report, row, query)) for row in turned.object_list]
    turned.object_list = [([row[place] for place in places], address) for row, address in lines]
    chart, not_drawn = _chart(report, table, rows) if can_sort and report.drawn else (None, 0)
    headings = tuple(_heading(table.columns[place], sort, can_sort) for place in places)
    total = [table.total[place] for place in places] if table.total else None
    left_out = tuple(column.heading for column in table.columns if column.is_for_files)
    return Shown(headings, turned, total, chart, not_drawn, left_out)


def _sorted(rows: list[tuple[Any, ...]], columns: Sequence[Column], sort: str) -> list[tuple[Any, ...]]:
    """Empty cells last whichever way; without a word the rows keep their own order."""
    if not sort:
        return rows
    keys = [column.key for column in columns]
    if sort.removeprefix("-") not in keys:
        raise Invalid(WRONG, [FieldError("sort", f"must be one of {', '.join(keys)}")])
    place = keys.index(sort.removeprefix("-"))
    known = [row for row in rows if row[place] is not None]
    known.sort(key=lambda row: row[place], reverse=sort.startswith("-"))
    return known + [row for row in rows if row[place] is None]


def _heading(column: Column, sort: str, can_sort: bool) -> Heading:
    """A first click puts the largest figure first, and names from A; another turns it."""
    if not can_sort:
        return Heading(column, "", "")
    first = f"-{column.key}" if column.kind in NUMBERS else column.key
    turned = first.removeprefix("-") if first.startswith("-") else f"-{first}"
    direction = "descending" if sort.startswith("-") else "ascending"
    is_sorted = sort.removeprefix("-") == column.key
    return Heading(column, turned if sort == first else first, direction if is_sorted else "")


def _address(report: Report, row: tuple[Any, ...], query: Mapping[str, str]) -> str:
    if not (report.behind and isinstance(row, Line)):
        return ""
    return behind_address(report, {**query, **row.behind})


def behind_address(report: Report, words: Mapping[str, str]) -> str:
    here = reverse("report-rows", args=[report.code]) if report.behind == "rows" else reverse("report", args=["ledger"])
    return f"{here}?{urlencode(dict(words))}"


def _chart(report: Report, table: Table, rows: list[tuple[Any, ...]]) -> tuple[Chart | None, int]:
    """The rows with the largest figures, in the order of the table."""
    keys = [column.key for column in table.columns]
    places = [keys.index(name) for name in report.drawn]
    full = [row for row in rows if all(row[place] is not None for place in places)]
    if not full:
        return None, 0
    columns = [table.columns[place] for place in places]
    least = sorted((_size(row, places) for row in full), reverse=True)[:MOST_DRAWN][-1]
    kept = [row for row in full if _size(row, places) >= least][:MOST_DRAWN]
    texts = [place for place, column in enumerate(table.columns) if column.kind == "text"][:2] or [0]
    labels = [_label(row, texts) for row in kept]
    figures = [[_figure(row[place], table.columns[place]) for row in kept] for place in places]
    return _drawn(table.title, columns, labels, figures), len(rows) - len(kept)


def _drawn(title: str, columns: Sequence[Column], labels: list[str], figures: list[list[float]]) -> Chart:
    """One figure a row as bars, two in pairs, three as a range."""
    unit = UNITS.get(columns[0].kind, (1, ""))[1]
    if len(figures) == 1:
        bars = [(label, value, "") for label, value in zip(labels, figures[0], strict=True)]
        return breakdown_bars(columns[0].heading, bars, unit)
    if len(figures) > len(PAIR):
        low, likely, high = figures
        return range_bars(title, list(zip(labels, low, likely, high, strict=True)), unit)
    first, second = figures
    names = (columns[0].heading, columns[1].heading)
    return paired_bars(title, list(zip(labels, first, second, strict=True)), unit, names)


def _size(row: tuple[Any, ...], places: Sequence[int]) -> float:
    return max(abs(float(row[place])) for place in places)


def _label(row: tuple[Any, ...], texts: Sequence[int]) -> str:
    return ", ".join(str(row[place]) for place in texts if row[place])


def _figure(value: Any, column: Column) -> float:
    per_unit, _ = UNITS.get(column.kind, (1, ""))
    return float(value) / per_unit
