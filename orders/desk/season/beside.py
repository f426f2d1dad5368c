"""What a plan comes to beside what-ifs of its season, how its search goes, and what would let in what it leaves out."""

from collections import defaultdict
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from orders.common.models import User
from orders.common.models.run import CANCELED, FAILED
from orders.desk.charts_plan import search_course
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.plan_forms import WhatIfForm
from orders.desk.plan_words import level_of, plan_state, run_name
from orders.desk.season.comparing import compared
from orders.desk.telling import run_state
from orders.desk.views.pages import page
from orders.planning.figures import PlanFigures
from orders.planning.funds import fund_names
from orders.planning.models import PlanRun, VisitShare
from orders.planning.selectors import plan_run_get, plan_runs

MOST_BESIDE = 4
WHAT = "The page of a plan"
# What is asked most, at one press.
QUICK: tuple[tuple[str, dict[str, str]], ...] = (
    ("1 more crew", {"extra_crews": "1"}),
    ("10% less money", {"budget_percent": "90"}),
    ("No herbicide", {"no_herbicide": "on"}),
    ("Saturdays too", {"saturdays": "on"}),
)
USUAL = {"extra_crews": "0", "budget_percent": "100"}


@dataclass(frozen=True)
class Reason:
    """What one constraint kept out; `fixes` of its pieces would come in by one change each, for `cents` together."""

    constraint: str
    pieces: int
    hours: float
    fixes: int
    cents: int


def left_out_reasons(run: PlanRun) -> list[Reason]:
    """By constraint, the one with the most hours first."""
    found: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for left in run.left_out:
        found[left["constraint"]].append(left)
    reasons = [
        Reason(
            constraint,
            len(rows),
            sum(row["hours"] for row in rows),
            sum(bool(row["would_help"]) for row in rows),
            sum(row["change_cents"] or 0 for row in rows),
        )
        for constraint, rows in found.items()
    ]
    return sorted(reasons, key=lambda reason: (-reason.hours, reason.constraint))


def hours_by_fund(run: PlanRun) -> dict[str, float]:
    """Field person-hours of the plan's visits by the code of the fund; "" is all of them. Only a whole plan keeps all
    of its visits: one made again keeps what it changes, a what-if none."""
    if run.purpose != "plan":
        return {}
    shares = VisitShare.objects.filter(visit__plan_run=run).order_by()
    rows = list(shares.values_list("prescription__fund__code").annotate(hours=Sum("planned_hours")))
    if not rows:
        return {}
    return {code: hours for code, hours in rows if code} | {"": sum(hours for _, hours in rows)}


def fund_lines(run: PlanRun) -> list[dict[str, Any]]:
    """Each budget with what the plan takes from it, in money and hours."""
    hours = hours_by_fund(run)
    return [{**row, "hours": hours.get(row["fund"])} for row in run.funds]


def beside(run: PlanRun, actor: User) -> dict[str, Any]:
    """The newest what-ifs of the season as columns beside the plan, and the forms that ask for more."""
    asked = plan_runs().filter(season=run.season, purpose="what_if", dropped_at__isnull=True)
    asked = asked.exclude(state__in=[FAILED, CANCELED]).exclude(pk=run.pk).defer("left_out", "moved", "course")
    listed = list(asked[:MOST_BESIDE])
    figures = [found for one in [run, *reversed(listed)] if (found := PlanFigures.of(one))]
    waiting = [(one, run_name(one), run_state(one)) for one in listed if not one.is_over]
    level = level_of(run)
    form = WhatIfForm(initial={"search": level.code if level else "quick"})
    return {
        "run": run,
        "season": run.season,
        "beside_plans": [(one, run_name(one.run), plan_state(one.run)) for one in figures],
        "beside_rows": compared(figures, fund_names(run.season)) if len(figures) > 1 else [],
        "waiting": waiting,
        "quick": [(words, {**USUAL, **fields}) for words, fields in QUICK],
        "search": level.code if level else "quick",
        "what_form": form,
        "may_act": actor.has_role(*DESK),
    }


@require_safe
@page
def beside_part(request: HttpRequest, actor: User, run_id: UUID) -> HttpResponse:
    """The same alone, for a page that follows what-ifs at work."""
    page_opens_to(actor, OFFICE, WHAT)
    return render(request, "desk/season/beside.html", beside(plan_run_get(run_id), actor))


@require_safe
@page
def live_part(request: HttpRequest, actor: User, run_id: UUID) -> HttpResponse:
    """How the search of a plan at work goes, as a picture."""
    page_opens_to(actor, OFFICE, WHAT)
    return render(request, "desk/season/plan_live.html", live(plan_run_get(run_id)))


def live(run: PlanRun) -> dict[str, Any]:
    bound = None if run.bound_cents is None else run.bound_cents / 100
    course = [(int(rounds), cents / 100) for rounds, cents in run.course]
    if course and run.progress_done > course[-1][0]:
        course.append((run.progress_done, course[-1][1]))
    return {"run": run, "course": search_course("What the best plan so far loses", course, bound), "has_course": course}
