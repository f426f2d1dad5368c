"""A calibration and an accuracy report as the terminal prints them."""

from collections.abc import Iterator

from estimating.accuracy import Accuracy
from orders.calibration.convert import calibration_read
from orders.calibration.models import CalibrationRun
from orders.reports.accuracy import AccuracyReport


def calibration_lines(run: CalibrationRun) -> Iterator[str]:
    """What is not known first, then the ratios with their intervals."""
    if run.result is None:
        yield f"run {run.public_id}: {run.state}"
        return
    found = calibration_read(run.result)
    yield f"run {run.public_id}: {len(run.evidence)} orders used, {len(run.left_out)} left out"
    if found.because:
        yield found.because
    for row in (*found.methods, *found.forms, *found.crews):
        name = ", ".join(word for word in (row.method, row.growth_form, row.crew) if word)
        shown = f"×{row.ratio:.2f} ({row.low:.2f}–{row.high:.2f}), {len(row.orders)} orders"
        yield f"{name}: {shown}{'' if row.enough else f'. {row.reason}'}"
    for order in found.weights:
        if order.wild:
            yield f"work order {order.order} is far from the rest: ×{order.ratio:.2f}, weight {order.weight:.2f}"
    for left in run.left_out:
        yield f"left out: work order {left['order']}. {left['because']}"


def accuracy_lines(report: AccuracyReport) -> Iterator[str]:
    """A line for each row, then all."""
    if report.overall is None:
        yield f"Not enough evidence: no closed order of {report.season} has measured hours."
    for row in (*report.rows, *([report.overall] if report.overall else [])):
        yield _line(row)
    for left in report.left_out:
        yield f"left out: work order {left.order}. {left.because}"


def _line(row: Accuracy) -> str:
    interval = "" if row.bias_low is None else f" ({row.bias_low:.2f}–{row.bias_high:.2f})"
    spread = "" if row.log_spread is None else f", log spread {row.log_spread:.2f}"
    error = "" if row.rmse_hours_per_ha is None else f", error {row.rmse_hours_per_ha:.1f} h/ha"
    inside = f"{row.inside} of {row.orders} within low–high"
    return f"{row.name}: {row.orders} orders, actual over estimated ×{row.bias:.2f}{interval}{spread}, {inside}{error}"
