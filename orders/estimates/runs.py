"""The background job that estimates every patch: some patches at a time, each lot stored before the next."""

from collections.abc import Callable, Mapping
from dataclasses import asdict
from datetime import date

from orders.common.runs import Worker
from orders.common.stamp import Stamp
from orders.estimates.left_out import LeftOut, left_out_summed
from orders.estimates.models import EstimateRun
from orders.estimates.services import estimates_compute, estimates_store
from orders.sites.selectors import surveys_current

SURVEYS_AT_ONCE = 100

RepeatYears = Callable[[date], Mapping[int, int]]
_REPEAT_YEARS: list[RepeatYears] = []


def repeat_years_register(read: RepeatYears) -> None:
    """A later stage knows how often a patch was treated; called from its AppConfig.ready()."""
    _REPEAT_YEARS[:] = [read]


def estimate_job(worker: Worker) -> None:
    """Nothing is held open while it computes. What cannot be priced is told and hinders nothing else. An estimate with
    the same inputs is not made twice, so that a second attempt goes on where the first broke off."""
    run = EstimateRun.objects.select_related("asked_by").get(pk=worker.run.pk)
    repeat_years = _REPEAT_YEARS[0](run.on_day) if _REPEAT_YEARS else {}
    keys = list(surveys_current().order_by("patch__site__code", "patch__code").values_list("pk", flat=True))
    made = standing = 0
    gone: list[LeftOut] = []
    worker.progress(0, len(keys))
    for first in range(0, len(keys), SURVEYS_AT_ONCE):
        lot = list(surveys_current().filter(pk__in=keys[first : first + SURVEYS_AT_ONCE]))
        found = estimates_compute(surveys=lot, on=run.on_day, repeat_years=repeat_years, crew_kind=run.crew_kind)
        estimates_store(computed=found, stamp=Stamp(by=run.asked_by, at=worker.clock()))
        gone = left_out_summed([*gone, *found.left_out])
        made, standing = made + len(found.new), standing + len(found.fingerprints) - len(found.new)
        worker.progress(min(first + SURVEYS_AT_ONCE, len(keys)), len(keys), f"{made:,} estimates made")
    with worker.finishing():
        counts = {"surveys_count": len(keys), "made_count": made, "standing_count": standing}
        EstimateRun.objects.filter(pk=run.pk).update(left_out=[asdict(one) for one in gone], **counts)
