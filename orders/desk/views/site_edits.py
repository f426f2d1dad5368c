"""Changing a site's year: records of its calendar, closures, files of daily weather."""

from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from orders.common.clock import now
from orders.common.errors import NotFound, Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.site_forms import ClosureForm, EventForm, TakeOutForm, WeatherForm
from orders.desk.views.pages import page, tried
from orders.desk.views.sites import site_shown
from orders.planning.windows import method_codes_check
from orders.sites.models import CalendarEvent, Closure, Site
from orders.sites.selectors import calendar_event_get, closure_get, site_get
from orders.sites.services import (
    calendar_event_add,
    calendar_event_edit,
    calendar_event_remove,
    closure_add,
    closure_edit,
    closure_remove,
    weather_import,
)

WHAT = "Changing a site's calendar"
form_page = require_http_methods(["GET", "HEAD", "POST"])


def _stamp(actor: User, reason: str = "") -> Stamp:
    return Stamp(by=actor, at=now(), reason=reason)


def _status(refusal: Refusal | None, *typed: forms.Form | None) -> int:
    wrong = any(form is not None and form.is_bound and not form.is_valid() for form in typed)
    return refusal.status if refusal else 400 if wrong else 200


def _event(site_id: UUID, event_id: UUID) -> CalendarEvent:
    found = calendar_event_get(event_id)
    if found.site.public_id != site_id:
        raise NotFound("The site has no such record.")
    return found


def _closure(site_id: UUID, closure_id: UUID) -> Closure:
    found = closure_get(closure_id)
    if found.site.public_id != site_id:
        raise NotFound("The site has no such closure.")
    return found


@form_page
@page
def event_new(request: HttpRequest, actor: User, site_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    site, refusal = site_get(site_id), None
    form = EventForm(request.POST or None, initial={"kind": request.GET.get("kind", "")})
    if form.is_bound and form.is_valid():
        refusal = tried(lambda: calendar_event_add(site=site, stamp=_stamp(actor), **form.values()))
        if refusal is None:
            messages.success(request, "The record is added; the means are computed anew.")
            return redirect("site", site_id)
    return _event_page(request, site, None, form, refusal)


@form_page
@page
def event_page(request: HttpRequest, actor: User, site_id: UUID, event_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    event, refusal = _event(site_id, event_id), None
    form = EventForm(request.POST, event=event) if request.method == "POST" else EventForm.of(event)
    if form.is_bound and form.is_valid():
        expected = form.cleaned_data["version"] or 0
        refusal = tried(
            lambda: calendar_event_edit(event=event, expected=expected, stamp=_stamp(actor), **form.values())
        )
        if refusal is None:
            messages.success(request, "The record is corrected.")
            return redirect("site", site_id)
    return _event_page(request, event.site, event, form, refusal)


@require_POST
@page
def event_removed(request: HttpRequest, actor: User, site_id: UUID, event_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    event, form = _event(site_id, event_id), TakeOutForm(request.POST)
    if not form.is_valid():
        return _event_page(request, event.site, event, EventForm.of(event), None, form)
    told = form.cleaned_data
    refusal = tried(
        lambda: calendar_event_remove(event=event, expected=told["version"], stamp=_stamp(actor, told["reason"]))
    )
    if refusal:
        return _event_page(request, event.site, event, EventForm.of(event), refusal, form)
    messages.success(request, "The record is taken out; what it said stays in the record of changes.")
    return redirect("site", site_id)


def _event_page(
    request: HttpRequest,
    site: Site,
    event: CalendarEvent | None,
    form: EventForm,
    refusal: Refusal | None,
    removing: TakeOutForm | None = None,
) -> HttpResponse:
    told: dict[str, Any] = {"site": site, "event": event, "form": form, "refusal": refusal}
    if event is not None:
        told["removing"] = removing or TakeOutForm(initial={"version": event.version})
    return render(request, "desk/site_event.html", told, status=_status(refusal, form, removing))


@form_page
@page
def closure_new(request: HttpRequest, actor: User, site_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    site, refusal, form = site_get(site_id), None, ClosureForm(request.POST or None)
    if form.is_bound and form.is_valid():
        refusal = tried(lambda: closure_add(site=site, stamp=_stamp(actor), **_closed(form)))
        if refusal is None:
            messages.success(request, "The closure is added. Windows leave its days out from now on.")
            return redirect("site", site_id)
    return _closure_page(request, site, None, form, refusal)


@form_page
@page
def closure_page(request: HttpRequest, actor: User, site_id: UUID, closure_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    closure, refusal = _closure(site_id, closure_id), None
    form = ClosureForm(request.POST) if request.method == "POST" else ClosureForm.of(closure)
    if form.is_bound and form.is_valid():
        expected = form.cleaned_data["version"] or 0
        refusal = tried(lambda: closure_edit(closure=closure, expected=expected, stamp=_stamp(actor), **_closed(form)))
        if refusal is None:
            messages.success(request, "The closure is changed.")
            return redirect("site", site_id)
    return _closure_page(request, closure.site, closure, form, refusal)


def _closed(form: ClosureForm) -> dict[str, Any]:
    values = form.values()
    method_codes_check(values["methods"])
    return values


@require_POST
@page
def closure_removed(request: HttpRequest, actor: User, site_id: UUID, closure_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    closure, form = _closure(site_id, closure_id), TakeOutForm(request.POST)
    if not form.is_valid():
        return _closure_page(request, closure.site, closure, ClosureForm.of(closure), None, form)
    told = form.cleaned_data
    refusal = tried(
        lambda: closure_remove(closure=closure, expected=told["version"], stamp=_stamp(actor, told["reason"]))
    )
    if refusal:
        return _closure_page(request, closure.site, closure, ClosureForm.of(closure), refusal, form)
    messages.success(request, "The closure is taken out: the site is open on its days.")
    return redirect("site", site_id)


def _closure_page(
    request: HttpRequest,
    site: Site,
    closure: Closure | None,
    form: ClosureForm,
    refusal: Refusal | None,
    removing: TakeOutForm | None = None,
) -> HttpResponse:
    told: dict[str, Any] = {"site": site, "closure": closure, "form": form, "refusal": refusal}
    if closure is not None:
        told["removing"] = removing or TakeOutForm(initial={"version": closure.version})
    return render(request, "desk/site_closure.html", told, status=_status(refusal, form, removing))


@require_POST
@page
def weather_read(request: HttpRequest, actor: User, site_id: UUID) -> HttpResponse:
    """Daily weather of a site from a file."""
    page_opens_to(actor, DESK, WHAT)
    site, form = site_get(site_id), WeatherForm(request.POST, request.FILES)
    if not form.is_valid():
        return site_shown(request, actor, site, weather_form=form)
    told = form.cleaned_data
    try:
        made = weather_import(site=site, text=told["file"], source=told["source"], stamp=_stamp(actor))
    except Refusal as refusal:
        return site_shown(request, actor, site, weather_form=form, refusal=refusal)
    counted = f"{made.added:,} days added, {made.changed:,} brought up to date, {made.same:,} known already"
    messages.success(request, f"{counted}: {made.first_day} to {made.last_day}.")
    return redirect("site", site_id)
