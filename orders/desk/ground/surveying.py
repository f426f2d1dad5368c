"""Surveys typed in by hand: a new patch with its first, another of a patch that is known, and one put right."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.ground.drawing import ground_of
from orders.desk.ground.surveying_forms import (
    PatchEditForm,
    PatchForm,
    ReasonForm,
    SurveyEntry,
    component_initial,
    survey_initial,
)
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.views.pages import page, tried
from orders.sites.models import Site
from orders.sites.selectors import patch_get, site_get, sites, survey_get, survey_newest
from orders.sites.services import Entered, patch_add, patch_edit, survey_add, survey_correct, survey_void
from orders.sites.services.by_hand import patch_code_next

WHAT = "Entering surveys"
form_page = require_http_methods(["GET", "HEAD", "POST"])
ROW_BUTTONS = ("more", "drop")
# A day that a form proposes: the one before, since surveys are mostly typed in on the day after (common practice).
USUAL_LAG = timedelta(days=1)


def stamp_of(actor: User, reason: str = "") -> Stamp:
    return Stamp(by=actor, at=now(), reason=reason)


def is_sent(request: HttpRequest) -> bool:
    """The form is meant, and not one of its buttons for another row."""
    return request.method == "POST" and not any(name in request.POST for name in ROW_BUTTONS)


@form_page
@page
def patch_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    if not (named := request.GET.get("site", "")):
        return render(request, "desk/ground/patch_new_site.html", {"sites": sites().defer("boundary")})
    site = _site(named)
    stamp = stamp_of(actor)
    patch_form = PatchForm(request.POST or None, initial={"code": patch_code_next(site), "target_cover_percent": "5"})
    entry = SurveyEntry.typed(request.POST) if request.method == "POST" else SurveyEntry.empty(_first(actor, site))
    refusal = None
    if is_sent(request):
        facts = patch_form.columns()
        code, sheet = facts.pop("code"), entry.sheet(**facts)
        refusal = _entered(request, lambda: patch_add(site=site, code=code, sheet=sheet, stamp=stamp))
        if isinstance(refusal, HttpResponse):
            return refusal
        refusal = entry.show(refusal, patch_form)
    told = {"site": site, "patch_form": patch_form, "title": f"A new patch at {site.name}"}
    return _page(request, entry, refusal, site, told)


def _site(named: str) -> Site:
    """By its code, or by its id as pages link it."""
    found = sites().filter(code=named).first()
    if found is not None:
        return found
    try:
        return site_get(UUID(named))
    except ValueError:
        return site_get(UUID(int=0))  # refused: there is no such site


def _first(actor: User, site: Site) -> dict[str, Any]:
    day = stamp_of(actor).local_date(site.time_zone) - USUAL_LAG
    return {"observed_on": day, "observer": actor.get_full_name()}


@form_page
@page
def survey_new(request: HttpRequest, actor: User, patch_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    patch = patch_get(patch_id)
    before = survey_newest(patch)
    if request.method == "POST":
        entry = SurveyEntry.typed(request.POST)
    else:
        initial = _first(actor, patch.site) | {"control_state": patch.control_state}
        parts = [] if before is None else list(before.components.all())
        initial |= {} if before is None else survey_initial(before, same_day=False)
        entry = SurveyEntry.empty(initial, [component_initial(part, same_day=False) for part in parts] or [{}])
    refusal = None
    if is_sent(request):
        sheet = entry.sheet()
        refusal = _entered(request, lambda: survey_add(patch=patch, sheet=sheet, stamp=stamp_of(actor)))
        if isinstance(refusal, HttpResponse):
            return refusal
        refusal = entry.show(refusal)
    told = {"patch": patch, "before": before, "title": f"A new survey of {patch}"}
    return _page(request, entry, refusal, patch.site, told)


@form_page
@page
def survey_correction(request: HttpRequest, actor: User, survey_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    survey = survey_get(survey_id)
    if request.method == "POST":
        entry = SurveyEntry.typed(request.POST)
    else:
        parts = [component_initial(part, same_day=True) for part in survey.components.all()]
        entry = SurveyEntry.empty(survey_initial(survey, same_day=True), parts or [{}])
    refusal, reason = None, ReasonForm(request.POST if is_sent(request) else None)
    if is_sent(request):
        sheet, stamp = entry.sheet(), stamp_of(actor, reason.data.get("reason", "").strip())
        refusal = _entered(request, lambda: survey_correct(survey=survey, sheet=sheet, stamp=stamp))
        if isinstance(refusal, HttpResponse):
            return refusal
        refusal = entry.show(refusal)
    told = {"patch": survey.patch, "survey": survey, "reason_form": reason, "taking_back": ReasonForm(prefix="back")}
    title = f"Correct the survey of {survey.patch} of {survey.observed_on:%B} {survey.observed_on.day}"
    return _page(request, entry, refusal, survey.patch.site, {**told, "title": title})


@require_POST
@page
def survey_take_back(request: HttpRequest, actor: User, survey_id: UUID) -> HttpResponse:
    """Void a survey without another in its place."""
    page_opens_to(actor, DESK, WHAT)
    survey = survey_get(survey_id)
    survey_void(survey=survey, stamp=stamp_of(actor, request.POST.get("back-reason", "").strip()))
    messages.success(request, f"The survey of {survey.observed_on} is void. It stays on record and counts no more.")
    return redirect("patch", survey.patch.public_id)


@form_page
@page
def patch_change(request: HttpRequest, actor: User, patch_id: UUID) -> HttpResponse:
    """What is wanted of a patch."""
    page_opens_to(actor, DESK, "Changing patches")
    patch, refusal = patch_get(patch_id), None
    names = ("name", "control_state", "version")
    initial = {name: getattr(patch, name) for name in names} | {
        "target_cover_percent": round(100 * patch.target_cover, 6)
    }
    form = PatchEditForm(request.POST or None, initial=initial)
    if form.is_bound and form.is_valid():
        told = dict(form.cleaned_data)
        expected, target = told.pop("version"), told.pop("target_cover_percent") / 100
        refusal = tried(
            lambda: patch_edit(patch=patch, expected=expected, target_cover=target, stamp=stamp_of(actor), **told)
        )
        if refusal is None:
            messages.success(request, "What is wanted of the patch is changed.")
            return redirect("patch", patch_id)
    status = refusal.status if refusal else 400 if form.is_bound else 200
    return render(
        request, "desk/ground/patch_change.html", {"patch": patch, "form": form, "refusal": refusal}, status=status
    )


def _entered(request: HttpRequest, write: Any) -> Any:
    """The way to the patch with what to look at, or the refusal."""
    try:
        entered: Entered = write()
    except Refusal as refused:
        return refused
    messages.success(request, f"The survey of {entered.survey.patch} is on record.")
    for warning in entered.warnings:
        messages.warning(request, f"Look at this: {warning}")
    return redirect("patch", entered.survey.patch.public_id)


def _page(
    request: HttpRequest, entry: SurveyEntry, refusal: Refusal | None, site: Site, told: dict[str, Any]
) -> HttpResponse:
    shown = {**told, "entry": entry, "refusal": refusal, "ground": ground_of(site, besides=told.get("patch"))}
    return render(request, "desk/ground/survey_enter.html", shown, status=refusal.status if refusal else 200)
