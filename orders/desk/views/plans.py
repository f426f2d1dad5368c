"""The plans of a season: those asked for, asking for another, and several side by side."""

from collections.abc import Sequence
from uuid import UUID

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from estimating.units import acres
from orders import flow
from orders.common.clock import now
from orders.common.errors import FieldError, Invalid, NotFound, Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.chart_svg import Chart
from orders.desk.charts_plan import MOST_PLANS, compare_bars
from orders.desk.columns import Sortable
from orders.desk.list_rows import PLANS
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.plan_forms import AgainForm, PlanForm, WhatIfForm
from orders.desk.plan_words import plan_state, run_name
from orders.desk.season.comparing import compared
from orders.desk.views.pages import page
from orders.planning.figures import PlanFigures
from orders.planning.funds import fund_names
from orders.planning.models import PlanRun, Season
from orders.planning.selectors import plan_run_get, plan_runs, season_get

ROWS_A_PAGE = 25
USUAL_SORT = "-asked"
WHAT = "The plans of a season"
COLUMNS = {
    "name": Sortable("Plan"),
    "state": Sortable("State"),
    "asked": Sortable("Asked for", "id"),
    "cost": Sortable("Cost", "cost_cents", is_number=True),
    "area": Sortable("Ground treated", "figures__area_m2", is_number=True),
    "met": Sortable("Deadlines met", "figures__deadlines_met", is_number=True),
    "hours": Sortable("Person-hours", "figures__person_hours", is_number=True),
    "left_out": Sortable("Left out", "figures__left_out", is_number=True),
}
FORMS: dict[str, type[PlanForm]] = {"plan": PlanForm, "again": AgainForm, "what": WhatIfForm}


@require_safe
@page
def plan_list_page(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    return _listed(request, actor, season_get(season_id))


def _listed(
    request: HttpRequest, actor: User, season: Season, bound: PlanForm | None = None, refusal: Refusal | None = None
) -> HttpResponse:
    runs = plan_runs().filter(season=season).defer("left_out", "moved", "course")
    listed = rows_sorted(request, runs, COLUMNS, USUAL_SORT)
    if file_asked(request):
        return PLANS.reply(listed.found)
    rows = listed.page(request.GET.get("page", "1"), ROWS_A_PAGE)
    usual = {} if rows.paginator.count else {"search": "quick"}  # the first is for looking at
    told = {
        "season": season,
        "here": "plans",
        "rows": rows,
        "shown": [(run, run_name(run), plan_state(run), PlanFigures.of(run)) for run in rows],
        "headings": listed.headings,
        "most": MOST_PLANS,
        "may_ask": actor.has_role(*DESK),
        "has_plan": PlanRun.objects.filter(season=season, accepted_at__isnull=False).exists(),
        "forms": {
            name: bound if bound and bound.prefix == name else kind(initial=usual) for name, kind in FORMS.items()
        },
        "refused": bound.prefix if bound else "",
        "refusal": refusal,
    }
    return render(request, "desk/plans.html", told, status=400 if bound and not refusal else _status(refusal))


def _status(refusal: Refusal | None) -> int:
    return refusal.status if refusal else 200


@require_POST
@page
def plan_asked(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    """Asks for a plan, one made again, or a what-if; what is wrong stands in its form."""
    page_opens_to(actor, DESK, "Asking for a plan")
    season = season_get(season_id)
    form = FORMS.get(request.POST.get("purpose", ""), PlanForm)(request.POST)
    if not form.is_valid():
        return _listed(request, actor, season, form)
    try:
        run = _ask(season, form, Stamp(by=actor, at=now()))
    except Refusal as refused:
        return _listed(request, actor, season, form, refused)
    return _way_back(request) or redirect("plan", run_id=run.public_id)


def _way_back(request: HttpRequest) -> HttpResponse | None:
    """To the plan beside which a what-if was asked for."""
    beside = request.POST.get("beside", "")
    if not beside:
        return None
    try:
        return HttpResponseRedirect(f"{reverse('plan', args=[UUID(beside)])}#beside")
    except ValueError as error:
        raise Invalid("The plan beside cannot be read.", [FieldError("beside", "is no id")]) from error


def _ask(season: Season, form: PlanForm, stamp: Stamp) -> PlanRun:
    if isinstance(form, WhatIfForm):
        return flow.plan_what_if(season=season, what=form.what(), **form.asks(), stamp=stamp)
    if isinstance(form, AgainForm):
        return flow.plan_again(season=season, **form.asks(), stamp=stamp)
    return flow.plan_season(season=season, **form.asks(), stamp=stamp)


@require_safe
@page
def plan_compare_page(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    """Two to four finished plans of a season; the first is what the others are set against."""
    page_opens_to(actor, OFFICE, WHAT)
    season = season_get(season_id)
    figures = flow.compare_plans(runs=_runs(season, request.GET.getlist("run")))
    names = [run_name(one.run) for one in figures]
    told = {
        "season": season,
        "here": "plans",
        "plans": [(one, name, plan_state(one.run)) for one, name in zip(figures, names, strict=True)],
        "rows": compared(figures, fund_names(season)),
        "picture": _picture(names, figures),
    }
    return render(request, "desk/plan_compare.html", told)


def _runs(season: Season, ids: Sequence[str]) -> list[PlanRun]:
    wanted = list(dict.fromkeys(ids))
    if not 2 <= len(wanted) <= MOST_PLANS:
        error = FieldError("run", f"tick 2 to {MOST_PLANS} finished plans")
        raise Invalid(f"Plans are compared 2 to {MOST_PLANS} at a time.", [error])
    try:
        runs = [plan_run_get(UUID(run_id)) for run_id in wanted]
    except ValueError as error:
        raise Invalid("A ticked plan cannot be read.", [FieldError("run", "is no id")]) from error
    if any(run.season_id != season.pk for run in runs):
        raise NotFound("There is no such plan in this season.")
    return sorted(runs, key=lambda run: run.pk)


def _picture(names: Sequence[str], figures: Sequence[PlanFigures]) -> Chart:
    drawn = [
        ("Ground treated", "ac", [acres(one.area_m2) for one in figures]),
        ("Seed deadlines met", "", [float(one.deadlines_met) for one in figures]),
        ("Cost", "$", [one.cost_cents / 100 for one in figures]),
        ("Person-hours", "h", [one.person_hours for one in figures]),
        ("Pieces of work left out", "", [float(one.left_out) for one in figures]),
    ]
    return compare_bars("Plans side by side", names, drawn)
