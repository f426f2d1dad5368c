"""How good a season's estimates were, against the hours that crews measured."""

from dataclasses import dataclass

from estimating.accuracy import Accuracy, Judged, accuracy, accuracy_by
from orders.calibration.selectors import ClosedWork, Evidence, LeftOut, calibration_open_to, closed_orders_evidence
from orders.common.errors import FieldError, Invalid
from orders.common.models import User
from orders.planning.models import Season

# what the report may be cut by -> its heading
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
