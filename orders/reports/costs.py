"""Planned against actual cost, cut by one dimension: the cube's, as rows with a key."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from orders.common.models import User
from orders.costs.selectors import costs_open_to, fund_get
from orders.planning.models import Season
from orders.reports.asking import Asked
from orders.reports.cube import DIMENSIONS, Figures, cost_cube, dimensions_named
from orders.reports.table import Column, Table
from orders.reports.write_csv import csv_text

ORDERED = ["order", "site", "method", "fund", "award", "month", "patch", "species", "crew", "person_type", "category"]
# what a report may be cut by -> its heading
CUTS = {code: "Posting month" if code == "month" else DIMENSIONS[code].heading for code in ORDERED}


@dataclass(frozen=True)
class CostRow:
    """`key` is empty where rows have none, such as costs without an order."""

    key: str
    planned_cents: int
    actual_cents: int
    planned_minutes: int
    actual_minutes: int

    @property
    def difference_cents(self) -> int:
        return self.actual_cents - self.planned_cents


@dataclass(frozen=True)
class CostReport:
    by: str
    heading: str
    rows: tuple[CostRow, ...]
    total: CostRow

    def label(self, row: CostRow) -> str:
        return row.key or DIMENSIONS[self.by].none


def cost_report(*, actor: User, by: str, season: Season | None = None, fund: UUID | None = None) -> CostReport:
    """`month` is the posting period; for what is planned, the month of the planned day."""
    costs_open_to(actor)
    dimensions_named([by])
    cube = cost_cube(actor=actor, asked=Asked(season=season, fund=fund_get(fund) if fund else None), by=[by])
    rows = tuple(cost_row(key, figures) for (key,), figures in cube.cells.items())
    return CostReport(by, CUTS[by], rows, rows_total(rows))


def cost_row(key: str, figures: Figures) -> CostRow:
    planned, actual = figures.planned_cents, figures.actual_cents
    return CostRow(key, planned, actual, figures.planned_minutes, figures.actual_minutes)


def rows_total(rows: tuple[CostRow, ...]) -> CostRow:
    return CostRow(
        "Total",
        sum(row.planned_cents for row in rows),
        sum(row.actual_cents for row in rows),
        sum(row.planned_minutes for row in rows),
        sum(row.actual_minutes for row in rows),
    )


COLUMNS = (
    Column("planned", "planned", "cents", total=True),
    Column("actual", "actual", "cents", total=True),
    Column("difference", "difference", "cents", total=True),
    Column("planned_hours", "planned hours", "minutes", total=True),
    Column("actual_hours", "actual hours", "minutes", total=True),
)


def cost_report_csv(report: CostReport) -> str:
    """With the total as the last row."""
    columns = (Column("key", report.heading, "text"), *COLUMNS)
    rows = tuple(_cells(report.label(row), row) for row in report.rows)
    return csv_text(Table(report.heading, (), columns, rows, _cells(report.total.key, report.total)))


def _cells(label: str, row: CostRow) -> tuple[Any, ...]:
    money = (row.planned_cents, row.actual_cents, row.difference_cents)
    return (label, *money, row.planned_minutes, row.actual_minutes)
