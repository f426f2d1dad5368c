"""Tables as lines of text: any, a cost report, a preview of choices."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from orders.planning.preview import ChoiceRow, Preview
from orders.reports.cells import hours_text
from orders.reports.costs import CostReport, CostRow
from orders.reports.cube import DIMENSIONS

HEADINGS = ("planned $", "actual $", "difference $", "planned h", "actual h")


def table_lines(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """The first column to the left, the others to the right."""
    widths = [max(len(row[column]) for row in (headings, *rows)) for column in range(len(headings))]
    head = _columns(headings, widths)
    yield head
    yield "-" * len(head)
    yield from (_columns(row, widths) for row in rows)


def _columns(row: Sequence[str], widths: Sequence[int]) -> str:
    cells = list(zip(row, widths, strict=True))
    (first, width), others = cells[0], cells[1:]
    return "  ".join([f"{first:<{width}}", *(f"{text:>{space}}" for text, space in others)])


def report_lines(report: CostReport) -> Iterator[str]:
    """The rows, a rule, and the total that is their sum."""
    none = DIMENSIONS[report.by].none
    width = max(len(row.key or none) for row in (*report.rows, report.total))
    width = max(width, len(report.heading))
    head = f"{report.heading:<{width}}" + "".join(f"{heading:>15}" for heading in HEADINGS)
    yield head
    yield "-" * len(head)
    for row in report.rows:
        yield _line(replace(row, key=row.key or none), width)
    yield "-" * len(head)
    yield _line(report.total, width)


def _line(row: CostRow, width: int) -> str:
    money = "".join(f"{cents / 100:>15,.2f}" for cents in (row.planned_cents, row.actual_cents, row.difference_cents))
    hours = "".join(f"{hours_text(minutes):>15}" for minutes in (row.planned_minutes, row.actual_minutes))
    return f"{row.key:<{width}}{money}{hours}"


def preview_lines(preview: Preview) -> Iterator[str]:
    """Patch by patch, then how full the season gets."""
    for row in preview.rows:
        yield f"{row.line.patch}: {_choice_words(row)}"
    after, gives = preview.after, preview.capacity
    yield f"{len(preview.new)} chosen, {len(preview.standing)} chosen already, {len(preview.refused)} refused"
    yield (
        f"season: {after.paid_hours:,.0f} paid person-hours of {gives.paid_hours:,.0f}, "
        f"{after.licensed_paid_hours:,.0f} by licensed people of {gives.licensed_paid_hours:,.0f}"
    )
    cost = after.cents
    yield f"money: ${cost.likely / 100:,.0f} (${cost.low / 100:,.0f} to ${cost.high / 100:,.0f})"


def _choice_words(row: ChoiceRow) -> str:
    name = row.method.name if row.method else "nothing"
    if row.refused:
        return f"{name} refused: {row.refused}"
    if row.stands:
        return f"{name} is chosen already"
    assert row.estimate is not None  # a row without estimate or days is refused
    assert row.days is not None
    replaced = "".join(f", instead of {old.method.name}" for old in row.replaces)
    return f"{name}, {row.days.first} to {row.days.last}, {row.estimate.hours_likely:.1f} h{replaced}"
