"""How a background run is getting on, and what came of it. One page for every kind of run."""

from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders.calibration.models import CalibrationRun
from orders.common.clock import now
from orders.common.errors import WrongState
from orders.common.models import User
from orders.common.models.run import DONE
from orders.common.runs import run_cancel, run_seen_by
from orders.desk.intake.findings import findings_told
from orders.desk.season.whole_season import prescribe_run_facts
from orders.desk.telling import run_state
from orders.desk.views.pages import page
from orders.estimates.left_out import LeftOut
from orders.estimates.models import EstimateRun
from orders.planning.models import PlanBoundRun, PlanRun, SeasonPrescribeRun
from orders.planning.selectors import plan_run_get
from orders.reports.models import ExportRun
from orders.reports.selectors import export_path, query_told, report_name
from orders.sites.models import SurveyImport


@dataclass(frozen=True)
class Kind:
    """What a kind of run is called, and how its result is told."""

    title: str
    template: str
    facts: Callable[[Any], dict[str, Any]]
    styles: str = ""


def _plan_facts(run: PlanRun) -> dict[str, Any]:
    plan = plan_run_get(run.public_id)
    kept_out: dict[str, list[float]] = {}
    for left in plan.left_out:
        kept_out.setdefault(left["constraint"], []).append(left["hours"])
    return {
        "plan": plan,
        "visits": plan.visits.count(),
        "left_out": len(plan.left_out),
        "kept_out": [(why, len(hours), sum(hours)) for why, hours in sorted(kept_out.items())],
    }


def _bound_facts(run: PlanBoundRun) -> dict[str, Any]:
    return {"bound": run}


def _import_facts(run: SurveyImport) -> dict[str, Any]:
    return findings_told(run)


def _calibration_facts(run: CalibrationRun) -> dict[str, Any]:
    because = run.result["because"] if run.result else ""
    return {"calibration": run, "because": because, "used": len(run.evidence), "left_out": len(run.left_out)}


def _export_facts(run: ExportRun) -> dict[str, Any]:
    return {
        "export": run,
        "report_name": report_name(run.report),
        "query": query_told(run.report, run.query),
        "has_file": export_path(run) is not None,
        "days": settings.EXPORT_DAYS,
    }


def _estimate_facts(run: EstimateRun) -> dict[str, Any]:
    return {"estimated": run, "left_out": [LeftOut(**row) for row in run.left_out]}


KINDS = {
    ExportRun.kind: Kind("File of a report", "desk/runs/export.html", _export_facts),
    PlanRun.kind: Kind("Season plan", "desk/runs/plan.html", _plan_facts),
    PlanBoundRun.kind: Kind("Bound of a season plan", "desk/runs/plan_bound.html", _bound_facts),
    CalibrationRun.kind: Kind("Calibration", "desk/runs/calibration.html", _calibration_facts),
    EstimateRun.kind: Kind("Estimates of all patches", "desk/runs/estimates.html", _estimate_facts),
    SeasonPrescribeRun.kind: Kind(
        title="What is recommended for a season",
        template="desk/runs/season_prescribe.html",
        facts=prescribe_run_facts,
        styles="desk/season/prescribe.css",
    ),
    SurveyImport.kind: Kind("Survey import", "desk/runs/survey_import.html", _import_facts),
}


@require_safe
@page
def run_progress(request: HttpRequest, actor: User, run_id: UUID) -> HttpResponse:
    run = run_seen_by(actor, run_id)
    kind = KINDS[run.kind]
    facts = kind.facts(run) if run.state == DONE else {}
    return render(request, "desk/run.html", {"run": run, "kind": kind, "told": run_state(run), **facts})


@require_safe
@page
def run_state_document(request: HttpRequest, actor: User, run_id: UUID) -> HttpResponse:
    return JsonResponse(asdict(run_state(run_seen_by(actor, run_id))))


@require_POST
@page
def run_stop(request: HttpRequest, actor: User, run_id: UUID) -> HttpResponse:
    run = run_seen_by(actor, run_id)
    try:
        run_cancel(run, at=now())
    except WrongState as over:
        messages.info(request, over.detail)
    return redirect("run-progress", run_id=run_id)
