"""What is recommended for the whole season: shown at once where the patches are few, else looked for and prescribed in
the background."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from orders import flow
from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.season.bars import filling_bars
from orders.desk.season.review import CHOOSING, methods_counted, preview_told
from orders.desk.views.pages import page
from orders.planning.models import Season, SeasonPrescribeRun
from orders.planning.prescribing import choice_holding, season_prescribe_ask, season_prescribe_runs
from orders.planning.selectors import season_get
from orders.planning.whole_season import LeftOut, filling_found, left_out
from orders.sites.selectors import surveys_current

AT_ONCE = 300  # surveyed patches; more are not looked through while a page waits
MOST_RUNS = 10


@require_http_methods(["GET", "HEAD", "POST"])
@page
def whole_season_page(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    """What is recommended, wherever nothing is chosen yet: shown first, then prescribed as one choice."""
    page_opens_to(actor, DESK, CHOOSING)
    season = season_get(season_id)
    patches = surveys_current().order_by().count()
    # Who asked to look, when there were more of them, is not to find them prescribed.
    if patches > AT_ONCE or "look" in request.POST:
        return _in_background(request, actor, season, patches)
    if request.method == "POST":
        made = flow.prescribe_season(season=season, stamp=Stamp(by=actor, at=now()))
        messages.success(request, f"{len(made)} {'prescription is' if len(made) == 1 else 'prescriptions are'} made.")
        batch = choice_holding(made)
        return redirect("choice", batch_id=batch.public_id) if batch else redirect("season", season_id=season_id)
    preview = flow.preview_season(season=season)
    told = preview_told(request, preview) | {"season": season, "here": "prescribe", "reasons": left_out(preview)}
    return render(request, "desk/season/whole_season.html", told)


def _in_background(request: HttpRequest, actor: User, season: Season, patches: int) -> HttpResponse:
    if request.method == "POST":
        purpose = "look" if "look" in request.POST else "prescribe"
        run = season_prescribe_ask(season=season, purpose=purpose, stamp=Stamp(by=actor, at=now()))
        return redirect("run-progress", run_id=run.public_id)
    told = {
        "season": season,
        "here": "prescribe",
        "patches": patches,
        "runs": season_prescribe_runs(season)[:MOST_RUNS],
    }
    return render(request, "desk/season/whole_season_runs.html", told)


def prescribe_run_facts(run: SeasonPrescribeRun) -> dict[str, Any]:
    """What the page of a finished run shows."""
    filled = filling_found(run.season, run.found)
    return {
        "asked": run,
        "season": run.season,
        "counts": run.found["counts"],
        "filled": filled,
        "bars": filling_bars(filled),
        "methods": methods_counted(run.found["methods"]),
        "reasons": [LeftOut(**row) for row in run.found["left_out"]],
        "reasons_more": run.found["reasons_more"],
    }
