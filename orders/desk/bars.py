"""The picture beside the cost table: planned and actual, the largest rows."""

from orders.desk.chart_svg import Chart
from orders.desk.charts import paired_bars
from orders.reports.costs import CostReport, CostRow

MOST_ROWS = 20


def cost_bars(report: CostReport) -> tuple[Chart, int]:
    """The largest rows, in the order of the table, and how many were left out."""
    largest = sorted(report.rows, key=_size, reverse=True)[:MOST_ROWS]
    kept = {row.key for row in largest}
    rows = [row for row in report.rows if row.key in kept][:MOST_ROWS]
    drawn = [(row.key or "(none)", row.planned_cents / 100, row.actual_cents / 100) for row in rows]
    title = f"Planned and actual cost by {report.heading.lower()}"
    return paired_bars(title, drawn, "$", ("planned", "actual")), len(report.rows) - len(rows)


def _size(row: CostRow) -> int:
    return max(abs(row.planned_cents), abs(row.actual_cents))
