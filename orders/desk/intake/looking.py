"""What a file would change, before it is taken: its trial as a page, on the map, row by row, and as a file."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from orders.common.errors import NotFound
from orders.common.models import User
from orders.common.models.run import DONE
from orders.desk.intake.findings import findings_file, findings_told
from orders.desk.intake.handing import FileForm
from orders.desk.intake.leaving import columns_left, layers_told
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.telling import run_state
from orders.desk.templatetags.desk import days_said
from orders.desk.views.pages import page
from orders.sites.models import BAD, OUTCOMES, Site, SurveyFile, SurveyImport, TrialRow
from orders.sites.selectors import surveys_current
from orders.sites.survey_file_selectors import survey_file_get, trial_changes, trial_counts, trial_rows_of

ROWS_A_PAGE = 25
WHAT = "Looking at a survey file"
TEXT_DIFFERS = "patch_not_changed"
MARGIN_DEG = 0.002  # round the rows, so that what lies beside them is seen too


@require_safe
@page
def file_look(request: HttpRequest, actor: User, file_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    row = survey_file_get(file_id)
    if row.taken is not None and row.taken.undone_at is None and not row.taken.refused:
        return redirect("survey-import", import_id=row.taken.public_id)
    if row.trial is None:
        return redirect("survey-file", file_id=file_id)
    told = {
        "file": row,
        "run": row.trial,
        "told": run_state(row.trial),
        "step": "look",
        "form": FileForm(),
        "tiles": settings.MAP_TILE_URL,
        "unused": columns_left(row),
        **layers_told(row),
    }
    return render(request, "desk/intake/look.html", {**told, **(_result(request, row.trial) if _is_done(row) else {})})


def _is_done(row: SurveyFile) -> bool:
    return row.trial is not None and row.trial.state == DONE


def _result(request: HttpRequest, trial: SurveyImport) -> dict[str, Any]:
    asked = request.GET
    counts = trial_counts(trial)
    outcome = asked.get("outcome", "") if asked.get("outcome", "") in counts else ""
    rows = trial_rows_of(trial, outcome)
    if (number := asked.get("row", "")).isdecimal():
        rows = rows.filter(number=int(number[:9]))
    differs = {found["row"] for found in trial.warnings if found["code"] == TEXT_DIFFERS}
    return {
        **findings_told(trial, asked.get("found", ""), asked.get("page")),
        "rows": Paginator(rows, ROWS_A_PAGE).get_page(asked.get("rows_page")),
        "one_row": number if number.isdecimal() else "",
        "counts": counts,
        "outcome": outcome,
        "outcomes": [(word, name, counts[word]) for word, name in OUTCOMES if counts[word]],
        "changes": trial_changes(trial),
        "bad": counts[BAD] + counts["left_out"],
        "differs": len(differs),
        "has_rows": any(counts.values()),
    }


@require_safe
@page
def file_findings(request: HttpRequest, actor: User, file_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    return findings_file(_trial(survey_file_get(file_id)))


@require_safe
@page
def file_shapes(request: HttpRequest, actor: User, file_id: UUID) -> JsonResponse:
    """The rows of the trial as they lie, over the outlines that are held there already."""
    page_opens_to(actor, DESK, WHAT)
    trial = _trial(survey_file_get(file_id))
    rows = list(trial_rows_of(trial).exclude(geometry=None))
    wrong = {found["row"]: found["message"] for found in reversed(trial.errors)}
    doubts = {found["row"]: found["message"] for found in reversed(trial.warnings)}
    box = _box(row.geometry for row in rows if row.outcome != BAD) or _box(row.geometry for row in rows)
    codes = {row.site_code for row in rows}
    return JsonResponse(
        {
            "box": box,
            "rows": [_shape(row, wrong.get(row.number) or doubts.get(row.number) or "") for row in rows],
            "sites": [
                _feature(boundary, code) for code, boundary in _sites(codes) if boundary and boundary.get("coordinates")
            ],
            "held": [_feature(shape, f"{site} {patch}") for site, patch, shape in _held(box)],
        }
    )


def _trial(row: SurveyFile) -> SurveyImport:
    if row.trial is None:
        raise NotFound("This file was not tried yet.")
    return row.trial


def _shape(row: TrialRow, message: str) -> dict[str, Any]:
    name = " ".join(part for part in (row.site_code, row.patch_code) if part)
    told = {
        "number": row.number,
        "outcome": row.outcome,
        "name": name,
        "day": days_said(row.day),
        "message": days_said(message),
    }
    return {"type": "Feature", "properties": told, "geometry": row.geometry}


def _feature(geometry: Any, name: str) -> dict[str, Any]:
    return {"type": "Feature", "properties": {"name": name}, "geometry": geometry}


def _sites(codes: set[str]) -> Iterable[tuple[str, Any]]:
    return Site.objects.filter(code__in=codes).order_by("code").values_list("code", "boundary")


def _held(box: list[float] | None) -> Iterable[tuple[str, str, Any]]:
    """Outlines by the surveys that count, near what the file shows."""
    if box is None:
        return []
    west, south, east, north = box
    near = surveys_current().filter(min_lon__lte=east, max_lon__gte=west, min_lat__lte=north, max_lat__gte=south)
    plain = near.select_related(None).prefetch_related(None)
    return plain.values_list("patch__site__code", "patch__code", "geometry")


def _box(geometries: Iterable[Any]) -> list[float] | None:
    """West, south, east, north with a margin; None where nothing lies anywhere."""
    points = [point for geometry in geometries for point in _points(geometry.get("coordinates", []))]
    on_earth = [(east, north) for east, north in points if abs(east) <= 180 and abs(north) <= 90]
    if not on_earth:
        return None
    easts, norths = [east for east, _ in on_earth], [north for _, north in on_earth]
    return [min(easts) - MARGIN_DEG, min(norths) - MARGIN_DEG, max(easts) + MARGIN_DEG, max(norths) + MARGIN_DEG]


def _points(coordinates: Any) -> Iterable[tuple[float, float]]:
    if coordinates and isinstance(coordinates[0], int | float):
        yield coordinates[0], coordinates[1]
        return
    for part in coordinates:
        yield from _points(part)
