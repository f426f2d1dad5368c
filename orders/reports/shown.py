"""What is shown of a cost report: the rows that hold a text, sorted by a column, and their total."""

from dataclasses import replace
from typing import Any

from orders.common.errors import FieldError, Invalid
from orders.reports.costs import CostReport, CostRow, rows_total

# what the rows may be sorted by -> the figure of the row; `key` keeps the order of the report itself
SORTS = {
    "key": "",
    "planned": "planned_cents",
    "actual": "actual_cents",
    "difference": "difference_cents",
    "planned-hours": "planned_minutes",
    "actual-hours": "actual_minutes",
}


def cost_report_shown(report: CostReport, *, text: str = "", sort: str = "key") -> CostReport:
    """The same report with fewer rows or in another order; `-` before the sort turns it around."""
    if sort.removeprefix("-") not in SORTS:
        raise Invalid("The rows cannot be sorted that way.", [FieldError("sort", f"must be one of {', '.join(SORTS)}")])
    wanted = text.strip().casefold()
    rows = [row for row in report.rows if wanted in row.key.casefold()]
    if figure := SORTS[sort.removeprefix("-")]:
        rows.sort(key=lambda row: int(getattr(row, figure)), reverse=sort.startswith("-"))
    elif sort.startswith("-"):
        rows.reverse()
    return replace(report, rows=tuple(rows), total=rows_total(tuple(rows)))


def cost_report_document(report: CostReport) -> dict[str, Any]:
    """The report as plain JSON values: cents and minutes, which are exact."""
    rows = [_row_document(row) for row in report.rows]
    return {"by": report.by, "heading": report.heading, "rows": rows, "total": _row_document(report.total)}


def _row_document(row: CostRow) -> dict[str, Any]:
    return {
        "key": row.key,
        "planned_cents": row.planned_cents,
        "actual_cents": row.actual_cents,
        "difference_cents": row.difference_cents,
        "planned_minutes": row.planned_minutes,
        "actual_minutes": row.actual_minutes,
    }
