"""The watch: a season while it runs, from who is out to what should be planned anew."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from orders.common.clock import now
from orders.common.errors import NotFound
from orders.common.models import User
from orders.desk.chart_svg import Chart
from orders.desk.charts import lines, paired_bars
from orders.desk.charts_season import day_words
from orders.desk.charts_today import stage_bars
from orders.desk.list_file import list_file
from orders.desk.navigation import DESK, GROUND, SAFETY, page_opens_to
from orders.desk.today.start import SeasonForm
from orders.desk.views.out_now import out_found
from orders.desk.views.pages import page
from orders.desk.views.patches import today_of
from orders.field.selectors.devices import devices
from orders.planning.models import Season
from orders.planning.selectors import plan_in_force
from orders.reports.today import Reader
from orders.reports.today.season_cards import plan_changes
from orders.reports.today.watching import (
    BEHIND,
    ORDER_STATES,
    Hours,
    Seeds,
    checks_due,
    closed_work,
    conflicts,
    follow_ups_open,
    hours_by_method,
    hours_by_week,
    orders_by_crew,
    seeds,
    seeds_by_week,
)
from orders.workorders.models import WorkOrder

ROWS_A_PAGE = 25
WHAT = "The watch"


@dataclass(frozen=True)
class Section:
    """A part of the page that can be taken as a file: its heads, and its rows as text."""

    headings: tuple[str, ...]
    rows: Callable[[User, Season, Any], list[tuple[str, ...]]]


@require_safe
@page
def watch_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, SAFETY, WHAT)
    today = today_of(actor)
    form = SeasonForm(request.GET, today=today)
    season = form.chosen()
    told: dict[str, Any] = {
        "season": season,
        "seasons": form.seasons,
        "today": today,
        "out": out_found(actor, now()),
        "may_answer": actor.has_role(*SAFETY),
        "may_plan": actor.has_role(*DESK),
        "conflicts": conflicts(actor, today),
        "devices": devices() if actor.has_role(*DESK) else [],
    }
    if season is not None:
        told |= _season_told(request, actor, season)
    return render(request, "desk/today/watch.html", told)


def _season_told(request: HttpRequest, actor: User, season: Season) -> dict[str, Any]:
    today = today_of(actor)
    due = seeds(actor, season, today)
    crews = orders_by_crew(season, today)
    work = closed_work(season)
    methods, weeks = hours_by_method(work), hours_by_week(work)
    return {
        "seeds": Paginator(due, ROWS_A_PAGE).get_page(request.GET.get("seed_page", "1")),
        "seeds_open": sum(row.behind != "done" for row in due.facts),
        "seed_chart": _seed_chart(due),
        "checks": checks_due(season, today),
        "order_states": [words for _, words in WorkOrder.STATES],
        "crews": crews,
        "crew_chart": _crew_chart(crews),
        "methods": methods,
        "method_chart": _method_chart(methods),
        "week_chart": _week_chart(weeks),
        "follow_ups": Paginator(follow_ups_open(season), ROWS_A_PAGE).get_page(request.GET.get("follow_page", "1")),
        "plan": plan_in_force(season),
        "plan_changes": plan_changes(Reader(actor, now(), today, season)),
    }


def _seed_chart(due: Seeds) -> Chart | None:
    weeks = [(f"week of {day_words(monday)}", counts) for monday, counts in seeds_by_week(due.facts)]
    return stage_bars("Seed deadlines by week", [words for _, words in BEHIND], weeks, "") if weeks else None


def _crew_chart(crews: list[Any]) -> Chart | None:
    """Void orders are not drawn: nothing will be done on them."""
    shown = [code for code in ORDER_STATES if code != "void"]
    names = [words for code, words in WorkOrder.STATES if code in shown]
    rows = [(row.crew, [row.counts[ORDER_STATES.index(code)] for code in shown]) for row in crews]
    return stage_bars("Orders by crew", names, rows, "") if rows else None


def _method_chart(methods: list[Hours]) -> Chart | None:
    rows = [(row.key, row.planned_minutes / 60, row.actual_minutes / 60) for row in methods]
    return paired_bars("Hours of closed orders by method", rows, "h", ("planned", "actual")) if rows else None


def _week_chart(weeks: list[Any]) -> Chart | None:
    if len(weeks) < 2:
        return None
    series = [
        ("planned", None, [planned / 60 for _, planned, _ in weeks], None),
        ("actual", None, [actual / 60 for _, _, actual in weeks], None),
    ]
    return lines("Hours of all orders closed so far", [day_words(week) for week, *_ in weeks], series, "h")


@require_safe
@page
def watch_out(request: HttpRequest, actor: User) -> HttpResponse:
    """The first part of the page alone, for its own refreshing."""
    page_opens_to(actor, GROUND, WHAT)
    told = {"out": out_found(actor, now()), "may_answer": actor.has_role(*SAFETY)}
    return render(request, "desk/out_now_crews.html", told)


@require_safe
@page
def watch_file(request: HttpRequest, actor: User, section: str) -> HttpResponse:
    page_opens_to(actor, SAFETY, WHAT)
    today = today_of(actor)
    season = SeasonForm(request.GET, today=today).chosen()
    part = SECTIONS.get(section)
    if part is None or season is None:
        raise NotFound("There is no such part, or no season yet.")
    return list_file(section, part.headings, part.rows(actor, season, today))


def _seed_rows(actor: User, season: Season, today: Any) -> list[tuple[str, ...]]:
    return [
        (
            str(row.deadline.patch or row.deadline.title),
            row.deadline.due_on.isoformat(),
            row.behind_words,
            str(row.order.number) if row.order else "",
            row.deadline.because,
        )
        for row in seeds(actor, season, today)
    ]


def _work_rows(found: Callable[[Season, Any], Iterable[Any]]) -> Callable[[User, Season, Any], list[tuple[str, ...]]]:
    def rows(actor: User, season: Season, today: Any) -> list[tuple[str, ...]]:
        return [
            (str(row.patch), row.method.name, row.first_day.isoformat(), row.last_day.isoformat(), row.state)
            for row in found(season, today)
        ]

    return rows


def _crew_rows(actor: User, season: Season, today: Any) -> list[tuple[str, ...]]:
    return [(row.crew, *map(str, row.counts), str(row.behind)) for row in orders_by_crew(season, today)]


def _hour_rows(actor: User, season: Season, today: Any) -> list[tuple[str, ...]]:
    return [
        (row.key, f"{row.planned_minutes / 60:.2f}", f"{row.actual_minutes / 60:.2f}")
        for row in hours_by_method(closed_work(season))
    ]


WORK = ("Patch", "Method", "First day", "Last day", "State")
SECTIONS: Mapping[str, Section] = {
    "seeds": Section(("Patch", "Due", "Work", "Order", "Why"), _seed_rows),
    "checks": Section(WORK, _work_rows(checks_due)),
    "follow-ups": Section(WORK, _work_rows(lambda season, today: follow_ups_open(season))),
    "orders": Section(("Crew", *(words for _, words in WorkOrder.STATES), "Behind"), _crew_rows),
    "hours": Section(("Method", "Planned hours", "Actual hours"), _hour_rows),
}
