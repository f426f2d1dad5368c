"""A new season, and changing one."""

from datetime import date
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.season.forms import SeasonEditForm, SeasonForm
from orders.desk.views.pages import page, tried
from orders.planning.models import Season
from orders.planning.season_edits import season_edit
from orders.planning.selectors import season_by_name, season_get
from orders.planning.services import season_add

WHAT = "Adding and changing seasons"
LATE_MONTH = 10
form_page = require_http_methods(["GET", "HEAD", "POST"])


@form_page
@page
def season_new_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    form = SeasonForm(request.POST or None, initial={} if Season.objects.exists() else _first_year())
    refusal = None
    if form.is_bound and form.is_valid():
        values, stamp = form.values(), Stamp(by=actor, at=now())
        refusal = tried(lambda: season_add(**values, stamp=stamp))
        if refusal is None:
            season = season_by_name(values["name"])
            messages.success(request, f"{season} is added. Choose what is to be done in it.")
            return redirect("prescribe", season_id=season.public_id)
    status = refusal.status if refusal else 400 if form.is_bound else 200
    return render(request, "desk/season/season_form.html", {"form": form, "refusal": refusal}, status=status)


def _first_year() -> dict[str, object]:
    """What a program's first season may be: the next calendar year from October on, before that what is left of it."""
    today = Stamp(by=None, at=now()).local_date(settings.PROGRAM_TIME_ZONE)
    year = today.year + (today.month >= LATE_MONTH)
    return {"name": str(year), "first_day": max(today, date(year, 1, 1)), "last_day": date(year, 12, 31)}


@form_page
@page
def season_edit_page(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    season = season_get(season_id)
    form = SeasonEditForm(request.POST) if request.method == "POST" else SeasonEditForm.of(season)
    refusal = None
    if form.is_bound and form.is_valid():
        refusal = tried(lambda: _edit(season, form, Stamp(by=actor, at=now())))
        if refusal is None:
            messages.success(request, "The season is changed.")
            return redirect("season-settings", season_id=season_id)
    status = refusal.status if refusal else 400 if form.is_bound else 200
    told = {"form": form, "refusal": refusal, "season": season_get(season_id)}
    return render(request, "desk/season/season_form.html", told, status=status)


def _edit(season: Season, form: SeasonEditForm, stamp: Stamp) -> Season:
    return season_edit(season=season, values=form.values(), expected=form.cleaned_data["version"], stamp=stamp)
