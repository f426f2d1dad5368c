"""How good a season's estimates were, against the hours that crews measured."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from estimating.accuracy import Accuracy, Judged, accuracy, accuracy_by
from orders.calibration.selectors import ClosedWork, Evidence, LeftOut, calibration_open_to, closed_orders_evidence
from orders.common.errors import FieldError, Invalid
from orders.common.models import User
from orders.planning.models import Season
from orders.planning.selectors import seasons
from orders.reports.asking import asked_read
from orders.reports.cube import DIMENSIONS, names_of
from orders.reports.table import Column, Table

# what the report may be cut by -> its heading
USUAL_GROUP = "method"
GROUPS = {"method": "Method", "growth_form": "Growth form", "crew": "Crew", "site": "Site"}


@dataclass(frozen=True)
class AccuracyReport:
    """`overall` is None where no order can be judged. Each row is a value of the group, each order counted once."""

    season: Season
    by: str
    heading: str
    overall: Accuracy | None
    rows: tuple[Accuracy, ...]
    orders: tuple[Evidence, ...]
    left_out: tuple[LeftOut, ...]


def accuracy_report(*, actor: User, season: Season, by: str = "method") -> AccuracyReport:
    """Bias, spread, error by the hectare and share inside low–high, of the closed orders with measured hours."""
    calibration_open_to(actor)
    if by not in GROUPS:
        raise Invalid("The report cannot be cut that way.", [FieldError("by", f"must be one of {', '.join(GROUPS)}")])
    work: ClosedWork = closed_orders_evidence(season)
    judged = [_judged(row) for row in work.evidence]
    return AccuracyReport(
        season=season,
        by=by,
        heading=GROUPS[by],
        overall=accuracy(judged) if judged else None,
        rows=accuracy_by(judged, by),
        orders=work.evidence,
        left_out=work.left_out,
    )


def _judged(row: Evidence) -> Judged:
    groups = {"method": row.most("method"), "growth_form": row.most("growth_form"), "crew": row.crew, "site": row.site}
    return Judged(
        order=row.order,
        estimated_hours=row.estimated_hours,
        low_hours=row.low_hours,
        high_hours=row.high_hours,
        actual_hours=row.actual_hours,
        treated_area_m2=row.treated_area_m2,
        groups=groups,
    )


def accuracy_table(actor: User, query: Mapping[str, str]) -> Table:
    """The same as a table: of one season, the latest where none is named."""
    calibration_open_to(actor)
    asked = asked_read(query, by=USUAL_GROUP)
    season = asked.season or seasons().first()
    columns = (
        Column("group", GROUPS.get(asked.by, asked.by), "text"),
        Column("orders", "Orders", "whole"),
        Column("estimated_minutes", "Estimated hours", "minutes"),
        Column("actual_minutes", "Actual hours", "minutes"),
        Column("bias", "Actual over estimated", "number"),
        Column("inside_percent", "Within low to high", "percent"),
    )
    if season is None:
        return Table("Accuracy of estimates", ("There is no season yet.",), columns, [])
    report = accuracy_report(actor=actor, season=season, by=asked.by)
    every = [*report.rows, *([report.overall] if report.overall else [])]
    told = (
        f"Season {season}.",
        f"{len(report.orders)} closed orders with measured hours; {len(report.left_out)} cannot be judged.",
        "Actual over estimated is the geometric mean over orders; the last row is all of them.",
    )
    names = names_of(DIMENSIONS["method"]) if report.by == "method" else {}
    return Table("Accuracy of estimates", told, columns, [_cells(row, names) for row in every])


def _cells(row: Accuracy, names: Mapping[str, str]) -> tuple[Any, ...]:
    hours = (round(row.estimated_hours * 60), round(row.actual_hours * 60))
    return (names.get(row.name, row.name), row.orders, *hours, round(row.bias, 3), 100 * row.inside_share)
