"""One plan: what it gives, what it moves and leaves out and why, its visits, how good it is; and what becomes of it."""

from datetime import date
from itertools import groupby
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count, Prefetch, QuerySet, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders import flow
from orders.common.clock import now
from orders.common.errors import Refusal, WrongState
from orders.common.models import User
from orders.common.models.run import DONE
from orders.common.runs import run_cancel
from orders.common.stamp import Stamp
from orders.desk.charts_plan import search_course
from orders.desk.columns import Sortable, headings, ordering, sort_asked
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.plan_words import gap_share, level_of, plan_state, run_name
from orders.desk.season.beside import beside, fund_lines, left_out_reasons, live
from orders.desk.telling import run_state
from orders.desk.views.pages import page
from orders.planning.figures import PlanFigures
from orders.planning.models import PlanRun, Visit, VisitShare
from orders.planning.selectors import plan_run_get
from orders.planning.what_if import WhatIf
from orders.workorders.grouping import visits_by_order

ROWS_A_PAGE = 25
ROWS_OF_A_PART = 10
WHAT = "The page of a plan"
VISIT_COLUMNS = {
    "day": Sortable("Day", "day"),
    "crew": Sortable("Crew", "crew__name"),
    "site": Sortable("Site", "site__code"),
    "patches": Sortable("Patches", "patches", is_number=True),
    "hours": Sortable("Person-hours", "hours", is_number=True),
    "why": Sortable("Why this crew and this day"),
}


@require_safe
@page
def plan_page(request: HttpRequest, actor: User, run_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    run = plan_run_get(run_id)
    told = {
        "season": run.season,
        "here": "plans",
        "run": run,
        "name": run_name(run),
        "state": plan_state(run),
        "told": run_state(run),
        "may_act": actor.has_role(*DESK),
        "changes": WhatIf.of_json(run.changes).words() if run.changes else "",
        **(_result(request, run) | beside(run, actor) if run.state == DONE else live(run)),
    }
    return render(request, "desk/plan.html", told)


def _result(request: HttpRequest, run: PlanRun) -> dict[str, Any]:
    return {
        "figures": PlanFigures.of(run),
        "moved": _part(request, [_moved(row) for row in run.moved], "moved_page"),
        "may_decide": _is_undecided(run),
        "may_accept": _is_undecided(run) and not run.faults,
        "may_repair": run.accepted_at is not None and not run.season.plan_runs.filter(accepted_at__gt=run.accepted_at),
        "fund_lines": fund_lines(run),
        "reasons": left_out_reasons(run),
        **_left_out(request, run),
        **_visits(request, run),
        **_quality(run),
    }


def _is_undecided(run: PlanRun) -> bool:
    return run.state == DONE and run.purpose != "what_if" and not run.accepted_at and not run.dropped_at


def _part(request: HttpRequest, rows: list[Any], name: str) -> Any:
    return Paginator(rows, ROWS_OF_A_PART).get_page(request.GET.get(name, "1"))


def _moved(row: dict[str, Any]) -> dict[str, Any]:
    """With its days as dates."""
    days = {name: row[name] and date.fromisoformat(row[name]) for name in ("old_day", "new_day")}
    return {**row, **days}


def _left_out(request: HttpRequest, run: PlanRun) -> dict[str, Any]:
    """What is left out, by what kept it out; one constraint alone where the address asks for it."""
    wanted = request.GET.get("constraint", "")
    rows = [left for left in run.left_out if not wanted or left["constraint"] == wanted]
    return {
        "left_out": _part(request, _alike(rows), "left_page"),
        "constraint": wanted,
    }


def _alike(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Visits of one work that are left out for the same reason stand in one row, with how many they are."""
    parts = [list(part) for _, part in groupby(rows)]
    return [{**part[0], "parts": len(part)} for part in parts]


def _visits(request: HttpRequest, run: PlanRun) -> dict[str, Any]:
    sort = sort_asked(VISIT_COLUMNS, request.GET.get("sort", ""), "day")
    wanted = {"crew__name": request.GET.get("crew", ""), "site__code": request.GET.get("site", "")}
    kept = {name: value for name, value in wanted.items() if value}
    rows = visits_of_run(run).filter(**kept).order_by(*ordering(VISIT_COLUMNS, sort))
    return {
        "visits": Paginator(rows, ROWS_A_PAGE).get_page(request.GET.get("page", "1")),
        "visit_headings": headings(VISIT_COLUMNS, sort, request.GET),
        "sort": sort,
        "crews": list(run.visits.order_by("crew__name").values_list("crew__name", flat=True).distinct()),
        "sites": list(run.visits.order_by("site__code").values_list("site__code", "site__name").distinct()),
        "asked": {"crew": wanted["crew__name"], "site": wanted["site__code"]},
    }


def visits_of_run(run: PlanRun) -> QuerySet[Visit]:
    """With how many patches each serves and its hours."""
    shares = VisitShare.objects.select_related("prescription__patch__site", "prescription__method").order_by("id")
    rows = run.visits.select_related("crew", "site", "replaces__crew").prefetch_related(Prefetch("shares", shares))
    counted = rows.annotate(patches=Count("shares"), hours=Sum("shares__planned_hours"))
    return counted.defer("site__boundary")


def _quality(run: PlanRun) -> dict[str, Any]:
    """How good the plan is: where the search began, how it went, and how far the best there is may be."""
    course = [(int(rounds), cents / 100) for rounds, cents in run.course]
    bound = None if run.bound_cents is None else run.bound_cents / 100
    return {
        "course": search_course("What the best plan so far loses", course, bound),
        "gap": gap_share(run),
        "level": level_of(run),
        "bound_run": run.bound_runs.order_by("-id").first(),
    }


@require_http_methods(["GET", "HEAD", "POST"])
@page
def plan_accept_page(request: HttpRequest, actor: User, run_id: UUID) -> HttpResponse:
    """GET says what accepting does; POST does it, whole or not at all."""
    page_opens_to(actor, DESK, "Accepting a plan")
    run = plan_run_get(run_id)
    refusal = None
    if request.method == "POST":
        try:
            orders = flow.accept_plan(run=run, stamp=Stamp(by=actor, at=now()))
        except Refusal as refused:
            refusal = refused
        else:
            messages.success(request, f"The plan is accepted; {len(orders)} {_orders(len(orders))} drafted.")
            return redirect("season-board", season_id=run.season.public_id)
    elif not _is_undecided(run):
        return redirect("plan", run_id=run_id)
    visits = list(run.visits.filter(state="proposed"))
    told = {
        "season": run.season,
        "here": "plans",
        "run": run,
        "name": run_name(run),
        "refusal": refusal,
        "visits": len(visits),
        "orders": len(visits_by_order(visits)),
        "figures": PlanFigures.of(run),
    }
    return render(request, "desk/plan_accept.html", told, status=refusal.status if refusal else 200)


def _orders(count: int) -> str:
    return "order is" if count == 1 else "orders are"


@require_POST
@page
def plan_dropped(request: HttpRequest, actor: User, run_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, "Dropping a plan")
    run = flow.drop_plan(run=plan_run_get(run_id), stamp=Stamp(by=actor, at=now()))
    messages.success(request, "The plan is dropped; nothing else has changed.")
    return redirect("season-plans", season_id=run.season.public_id)


@require_POST
@page
def plan_stopped(request: HttpRequest, actor: User, run_id: UUID) -> HttpResponse:
    """A plan at work keeps the best that it found; one that waits is canceled."""
    page_opens_to(actor, DESK, "Stopping a plan")
    try:
        run_cancel(plan_run_get(run_id), at=now())
    except WrongState as over:
        messages.info(request, over.detail)
    return redirect("plan", run_id=run_id)
