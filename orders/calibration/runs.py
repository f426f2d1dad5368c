"""The calibration's background job: freeze the evidence, compute, write the result once."""

from dataclasses import asdict

from estimating.calibrate import calibrate
from orders.calibration.convert import calibration_plain, closed_orders, usable
from orders.calibration.models import CalibrationRun
from orders.calibration.selectors import closed_orders_evidence
from orders.common.runs import Worker


def calibration_job(worker: Worker) -> None:
    """Nothing is held open while it computes; old estimates are taken as they were frozen."""
    run = CalibrationRun.objects.select_related("season").get(pk=worker.run.pk)
    found = usable(closed_orders_evidence(run.season), run.crew_kind)
    worker.progress(1, 2, f"{len(found.evidence)} closed orders with measured hours")
    result = calibrate(closed_orders(found.evidence))
    with worker.finishing():
        CalibrationRun.objects.filter(pk=run.pk).update(
            rate_book=found.rate_book,
            evidence=[asdict(row) for row in found.evidence],
            left_out=[asdict(row) for row in found.left_out],
            result=calibration_plain(result),
        )
