"""Planned against actual cost, cut by one dimension. Every cut sums the same rows, so every total is the same."""

import csv
import io
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Case, F, Sum, When

from orders.common.errors import FieldError, Invalid
from orders.common.models import User
from orders.costs.models import Commitment, LedgerEntry
from orders.costs.selectors import costs_open_to, sums_by
from orders.planning.models import Season
from orders.reports.tables import text_guarded

# what a report may be cut by -> the field that the rows carry, and its heading
CUTS = {
    "order": ("order_number", "Work order"),
    "site": ("site_code", "Site"),
    "method": ("method_code", "Method"),
    "fund": ("fund__code", "Fund"),
    "month": ("posting_month", "Posting month"),
    "patch": ("patch_code", "Patch"),
    "species": ("species_code", "Species"),
    "crew": ("crew_name", "Crew"),
    "category": ("category", "Category"),
}


@dataclass(frozen=True)
class CostRow:
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


def cost_report(*, actor: User, by: str, season: Season | None = None, fund: UUID | None = None) -> CostReport:
    """`month` is the posting period; for what is planned, the month of the planned day."""
    costs_open_to(actor)
    if by not in CUTS:
        raise Invalid("The report cannot be cut that way.", [FieldError("by", f"must be one of {', '.join(CUTS)}")])
    field, heading = CUTS[by]
    where = rows_where(season, fund)
    key = ("site_code", field) if by == "patch" else (field,)
    planned = sums_by(Commitment, key, Sum("minutes"), **where)
    actual = sums_by(LedgerEntry, key, Sum(Case(When(category="labor", then=F("quantity")))), **where)
    rows = tuple(
        CostRow(_label(found), planned_cents, actual_cents, planned_minutes, actual_minutes)
        for found in sorted({*planned, *actual})
        for planned_cents, planned_minutes in [planned.get(found, (0, 0))]
        for actual_cents, actual_minutes in [actual.get(found, (0, 0))]
    )
    return CostReport(by, heading, rows, rows_total(rows))


def rows_where(season: Season | None, fund: UUID | None) -> dict[str, Any]:
    """Which planned and posted rows a report is about, whichever way it is cut."""
    where: dict[str, Any] = {} if season is None else {"order__season": season}
    return where | ({} if fund is None else {"fund__public_id": fund})


def _label(key: tuple[Any, ...]) -> str:
    return " ".join(f"{part:%Y-%m}" if isinstance(part, date) else str(part) for part in key)


def rows_total(rows: tuple[CostRow, ...]) -> CostRow:
    return CostRow(
        "Total",
        sum(row.planned_cents for row in rows),
        sum(row.actual_cents for row in rows),
        sum(row.planned_minutes for row in rows),
        sum(row.actual_minutes for row in rows),
    )


def cents_text(cents: int) -> str:
    """Dollars and cents, exactly: -1234 -> -12.34"""
    return f"{'-' if cents < 0 else ''}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def hours_text(minutes: int) -> str:
    """Hours to two decimals; minutes are the exact figure and stand beside it in the JSON."""
    return f"{minutes / 60:.2f}"


COLUMNS = ("planned", "actual", "difference", "planned hours", "actual hours")


def cost_report_csv(report: CostReport) -> str:
    """RFC 4180, with the total as the last row; text cells are guarded against formulas."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([report.heading, *COLUMNS])
    for row in (*report.rows, report.total):
        money = [cents_text(cents) for cents in (row.planned_cents, row.actual_cents, row.difference_cents)]
        hours = [hours_text(minutes) for minutes in (row.planned_minutes, row.actual_minutes)]
        writer.writerow([text_guarded(row.key), *money, *hours])
    return out.getvalue()
