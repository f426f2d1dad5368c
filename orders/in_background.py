"""Steps of the flow that take longer than a page may, as background runs."""

from typing import Any

from orders import flow
from orders.common.kept import changes_version
from orders.common.runs import Worker
from orders.common.stamp import Stamp
from orders.planning.models import SeasonPrescribeRun
from orders.planning.prescribing import choice_holding
from orders.planning.whole_season import season_found

LOOKING = "Patches looked at"


def season_prescribe_job(worker: Worker) -> None:
    """Look without a lock, some patches at a time; then, where it is to prescribe, write what was seen. What was
    written by others meanwhile is looked at again, under the lock."""
    run = SeasonPrescribeRun.objects.select_related("season", "asked_by").get(pk=worker.run.pk)
    version = changes_version()
    preview = flow.preview_season(season=run.season, progress=lambda done, total: worker.progress(done, total, LOOKING))
    values: dict[str, Any] = {"found": season_found(preview)}
    with worker.finishing():
        if run.purpose == "prescribe":
            seen = preview if changes_version() == version else None
            stamp = Stamp(by=run.asked_by, at=worker.clock())
            made = flow.prescribe_season(season=run.season, seen=seen, stamp=stamp)
            values |= {"made_count": len(made), "choice": choice_holding(made)}
        SeasonPrescribeRun.objects.filter(pk=run.pk).update(**values)
