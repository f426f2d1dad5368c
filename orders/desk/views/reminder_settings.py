"""How one is told, the calendar that other programs subscribe to, and the schedule that all are told by."""

import hashlib
from uuid import UUID

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import parse_etags
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import Invalid, NotFound
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.navigation import DESK, EVERY_ROLE, OFFICE, page_opens_to
from orders.desk.reminder_forms import PreferenceForm, StepForm
from orders.desk.views.pages import page
from orders.reminders.calendar_text import calendar_text
from orders.reminders.models import KINDS
from orders.reminders.selectors import (
    calendar_items,
    feed_by_hash,
    feed_of,
    reminder_preference,
    step_get,
    steps,
)
from orders.reminders.services import (
    calendar_feed_make,
    calendar_feed_revoke,
    reminder_preference_edit,
    reminder_step_edit,
    secret_hash,
)

SETTINGS = "The page of your reminders"
SCHEDULE = "The schedule of reminders"


@require_http_methods(["GET", "HEAD", "POST"])
@page
def settings_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, SETTINGS)
    row = reminder_preference(actor)
    form = PreferenceForm(request.POST or None, instance=row)
    if request.method == "POST" and form.is_valid() and _kept(form, actor, row.version):
        messages.success(request, "Kept.")
        return redirect("reminder-settings")
    return _settings(request, actor, form)


def _kept(form: PreferenceForm, actor: User, expected: int) -> bool:
    stamp = Stamp(by=actor, at=now())
    try:
        reminder_preference_edit(user=actor, expected=expected, values=form.cleaned_data, stamp=stamp)
    except Invalid as refusal:
        _errors_put(form, refusal)
        return False
    return True


def _errors_put(form: forms.BaseForm, refusal: Invalid) -> None:
    for error in refusal.errors:
        form.add_error(error.field if error.field in form.fields else None, error.message)


def _settings(request: HttpRequest, actor: User, form: PreferenceForm, address: str = "") -> HttpResponse:
    told = {
        "form": form,
        "feed": feed_of(actor),
        "address": address,
        "may_see_schedule": actor.has_role(*OFFICE),
        "quiet_from": settings.QUIET_FROM,
        "quiet_until": settings.QUIET_UNTIL,
    }
    return render(request, "desk/reminder_settings.html", told, status=400 if form.errors else 200)


@require_POST
@page
def feed_made(request: HttpRequest, actor: User) -> HttpResponse:
    """Shows the address at once and never again."""
    page_opens_to(actor, EVERY_ROLE, SETTINGS)
    secret = calendar_feed_make(user=actor, stamp=Stamp(by=actor, at=now()))
    address = request.build_absolute_uri(reverse("calendar-text", args=[secret]))
    return _settings(request, actor, PreferenceForm(instance=reminder_preference(actor)), address)


@require_POST
@page
def feed_revoked(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, SETTINGS)
    calendar_feed_revoke(user=actor, stamp=Stamp(by=actor, at=now()))
    messages.success(request, "The address is closed.")
    return redirect("reminder-settings")


@require_safe
def calendar_document(request: HttpRequest, secret: str) -> HttpResponse:
    """A person's calendar for other programs: the secret in the address stands for the login."""
    try:
        feed = feed_by_hash(secret_hash(secret))
    except NotFound:
        return HttpResponse("There is no such calendar.\n", status=404, content_type="text/plain; charset=utf-8")
    name = f"{settings.PROGRAM_NAME}: {feed.user.get_full_name() or feed.user.get_username()}"
    text = calendar_text(name, calendar_items(feed.user, at=now()))
    headers = {"ETag": f'"{hashlib.sha256(text).hexdigest()[:32]}"', "Cache-Control": "private, no-cache"}
    if headers["ETag"] in parse_etags(request.headers.get("If-None-Match", "")):
        return HttpResponse(status=304, headers=headers)
    return HttpResponse(text, content_type="text/calendar; charset=utf-8", headers=headers)


@require_safe
@page
def schedule_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, SCHEDULE)
    rows = list(steps())
    kinds = [(words, [step for step in rows if step.kind == code]) for code, words in KINDS]
    told = {"kinds": kinds, "may_edit": actor.has_role(*DESK)}
    return render(request, "desk/reminder_schedule.html", told)


@require_http_methods(["GET", "HEAD", "POST"])
@page
def step_page(request: HttpRequest, actor: User, step_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, SCHEDULE)
    step = step_get(step_id)
    form = StepForm(request.POST or None, instance=step_get(step_id))
    if request.method == "POST" and form.is_valid():
        seen = request.POST.get("version", "")
        expected = int(seen) if seen.isascii() and seen.isdigit() else 0
        try:
            reminder_step_edit(step=step, expected=expected, values=form.cleaned_data, stamp=Stamp(by=actor, at=now()))
        except Invalid as refusal:
            _errors_put(form, refusal)
        else:
            messages.success(request, "The step is changed.")
            return redirect("reminder-schedule")
    told = {"step": step, "form": form, "kind": dict(KINDS)[step.kind]}
    return render(request, "desk/reminder_step.html", told, status=400 if form.errors else 200)
