"""What is set for a season: how sure its budgets are to last, what work is worth, its funds; and what follows what."""

from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import NotFound, Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.season_forms import FundForm, LevelForm, RemoveForm, WorthForm
from orders.desk.views.pages import page, tried
from orders.planning.funds import season_fund_add, season_fund_edit, season_fund_remove, season_funds
from orders.planning.models import ChainRule, Season, SeasonFund
from orders.planning.selectors import season_get
from orders.planning.worth import budget_level_name, season_budget_level_set, season_worth_set
from orders.supplies.selectors import equipment

WHAT = "The settings of a season"
SETTING = "Setting a season"
form_page = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@page
def settings_page(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    return _shown(request, actor, season_get(season_id))


def _shown(
    request: HttpRequest, actor: User, season: Season, *, refusal: Refusal | None = None, **bound: forms.Form
) -> HttpResponse:
    rules = ChainRule.objects.select_related("after", "method").order_by("after__name", "least_days", "code")
    told = {
        "season": season,
        "here": "settings",
        "level_name": budget_level_name(season.budget_level),
        "level": LevelForm.of(season),
        "worth": WorthForm.of(season),
        "funds": season_funds(season),
        "rules": rules,
        "equipment": equipment(),
        "may_set": actor.has_role(*DESK),
        "refusal": refusal,
        **bound,
    }
    status = refusal.status if refusal else 400 if bound else 200
    return render(request, "desk/season_settings.html", told, status=status)


def _stamp(actor: User, reason: str = "") -> Stamp:
    return Stamp(by=actor, at=now(), reason=reason)


@require_POST
@page
def level_set(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, SETTING)
    season, form = season_get(season_id), LevelForm(request.POST)
    if not form.is_valid():
        return _shown(request, actor, season, level=form)
    level, version = form.cleaned_data["level"], form.cleaned_data["version"]
    refusal = tried(
        lambda: season_budget_level_set(season=season, level=level, stamp=_stamp(actor), expected_version=version)
    )
    if refusal:
        return _shown(request, actor, season_get(season_id), refusal=refusal)
    messages.success(request, "The budgets' level is set. It holds from the next plan on.")
    return redirect("season-settings", season_id=season_id)


@require_POST
@page
def worth_set(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, SETTING)
    season, form = season_get(season_id), WorthForm(request.POST)
    if not form.is_valid():
        return _shown(request, actor, season, worth=form)
    version = form.cleaned_data["version"]
    refusal = tried(
        lambda: season_worth_set(season=season, worth=form.worth(), stamp=_stamp(actor), expected_version=version)
    )
    if refusal:
        return _shown(request, actor, season_get(season_id), refusal=refusal)
    messages.success(request, "What work is worth is set. It holds from the next plan on.")
    return redirect("season-settings", season_id=season_id)


@form_page
@page
def fund_new(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, SETTING)
    season = season_get(season_id)
    form = FundForm(request.POST or None)
    refusal = None
    if form.is_bound and form.is_valid():
        refusal = tried(lambda: season_fund_add(season=season, **form.values(), stamp=_stamp(actor)))
        if refusal is None:
            messages.success(request, f"{form.cleaned_data['name']} pays for work of {season} now.")
            return redirect("season-settings", season_id=season_id)
    return _fund_page(request, season, None, form, refusal)


@form_page
@page
def fund_page(request: HttpRequest, actor: User, season_id: UUID, fund_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, SETTING)
    fund = _fund(season_id, fund_id)
    form = FundForm(request.POST, fund=fund) if request.method == "POST" else FundForm.of(fund)
    refusal = None
    if form.is_bound and form.is_valid():
        values, version = form.values(), form.cleaned_data["version"]
        refusal = tried(lambda: season_fund_edit(fund=fund, values=values, expected=version, stamp=_stamp(actor)))
        if refusal is None:
            messages.success(request, f"{fund.code} is changed; what it pays for is given out anew.")
            return redirect("season-settings", season_id=season_id)
    return _fund_page(request, fund.season, fund, form, refusal)


@require_POST
@page
def fund_removed(request: HttpRequest, actor: User, season_id: UUID, fund_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, SETTING)
    fund, form = _fund(season_id, fund_id), RemoveForm(request.POST)
    if not form.is_valid():
        return _fund_page(request, fund.season, fund, FundForm.of(fund), None, form)
    code, told = fund.code, form.cleaned_data
    refusal = tried(
        lambda: season_fund_remove(fund=fund, expected=told["version"], stamp=_stamp(actor, told["reason"]))
    )
    if refusal:
        return _fund_page(request, fund.season, fund, FundForm.of(fund), refusal, form)
    messages.success(request, f"{code} is removed; open work that it paid for goes to whoever pays now.")
    return redirect("season-settings", season_id=season_id)


def _fund(season_id: UUID, fund_id: UUID) -> SeasonFund:
    rows = SeasonFund.objects.select_related("season").prefetch_related("sites")
    found = rows.filter(season__public_id=season_id, public_id=fund_id).first()
    if found is None:
        raise NotFound("The season has no such fund.")
    return found


def _fund_page(
    request: HttpRequest,
    season: Season,
    fund: SeasonFund | None,
    form: FundForm,
    refusal: Refusal | None,
    removing: RemoveForm | None = None,
) -> HttpResponse:
    told = {"season": season, "here": "settings", "fund": fund, "form": form, "refusal": refusal}
    if fund is not None:
        told["removing"] = removing or RemoveForm(initial={"version": fund.version})
    wrong = any(one is not None and one.is_bound and not one.is_valid() for one in (form, removing))
    status = refusal.status if refusal else 400 if wrong else 200
    return render(request, "desk/season_fund.html", told, status=status)
