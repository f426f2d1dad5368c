"""A cost report as a table of text."""

from collections.abc import Iterator

from orders.reports.costs import CostReport, CostRow, hours_text

HEADINGS = ("planned $", "actual $", "difference $", "planned h", "actual h")


def report_lines(report: CostReport) -> Iterator[str]:
    """The rows, a rule, and the total that is their sum."""
    width = max(len(row.key) for row in (*report.rows, report.total))
    width = max(width, len(report.heading))
    head = f"{report.heading:<{width}}" + "".join(f"{heading:>15}" for heading in HEADINGS)
    yield head
    yield "-" * len(head)
    for row in report.rows:
        yield _line(row, width)
    yield "-" * len(head)
    yield _line(report.total, width)


def _line(row: CostRow, width: int) -> str:
    money = "".join(f"{cents / 100:>15,.2f}" for cents in (row.planned_cents, row.actual_cents, row.difference_cents))
    hours = "".join(f"{hours_text(minutes):>15}" for minutes in (row.planned_minutes, row.actual_minutes))
    return f"{row.key:<{width}}{money}{hours}"
