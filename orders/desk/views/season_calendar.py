"""The season on its days: windows, visits and deadlines; the load of its crews; what it costs by when."""

from itertools import groupby
from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from orders.common.kept import changes_version, kept
from orders.common.models import User
from orders.desk.charts_plan import cost_course
from orders.desk.charts_season import Week, load_chart, season_chart
from orders.desk.navigation import OFFICE, page_opens_to
from orders.desk.plan_words import run_name
from orders.desk.season_lanes import lanes_by, links_of
from orders.desk.season_question import LANES, SHOWN, CalendarForm, CalendarQuestion
from orders.desk.views.pages import page
from orders.planning.models import Season
from orders.planning.season_course import CostWeek, CrewWeek, cost_weeks, crew_weeks
from orders.planning.selectors import season_get

LANES_A_PAGE = 30
CREWS_A_PAGE = 12  # each has a bar for every week
WHAT = "The calendar of a season"


@require_safe
@page
def calendar_page(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    season = season_get(season_id)
    form = CalendarForm(request.GET, season=season)
    question = form.question()
    told = {
        "season": season,
        "here": "calendar",
        "question": question,
        "run_name": run_name(question.run) if question.run else "",
        "shown_chips": [(words, question.shown_as(show=code), question.show == code) for code, words in SHOWN],
        "asked_fields": [form[name] for name in _fields(question)],
        "hidden": [] if question.show == "chart" else [("show", question.show)],
        **PICTURES[question.show](season, question, form.cleaned_data["page"] or 1),
    }
    return render(request, "desk/season_calendar.html", told)


def _fields(question: CalendarQuestion) -> tuple[str, ...]:
    return ("by", "month", "site", "crew", "state", "run") if question.show == "chart" else ("run",)


def _chart(season: Season, question: CalendarQuestion, number: int) -> dict[str, Any]:
    lanes = lanes_by(question.by, season, question.asked(season), question.run)
    shown = Paginator(lanes, LANES_A_PAGE).get_page(number)
    shown.object_list = list(shown.object_list)  # read once; what follows goes over them several times
    rows = [row for one in shown for row in one.rows]
    title = f"{season} by {dict(LANES)[question.by].lower()}"
    first, last = question.days(season)
    return {
        "picture": season_chart(title, first, last, [one.lane for one in shown], links_of(rows)),
        "rows": shown,
        "detail": rows,
        "sites": _site_links(question, shown) if question.by == "site" else [],
    }


def _site_links(question: CalendarQuestion, shown: Any) -> list[tuple[str, str]]:
    """From each site to its patches."""
    return [(one.lane.label, question.shown_as(by="patch", site=one.site)) for one in shown]


def _load(season: Season, question: CalendarQuestion, number: int) -> dict[str, Any]:
    """Crews that have something to do or to give, the whole season."""
    by_crew = [(name, list(weeks)) for name, weeks in groupby(crew_weeks(season, question.run), key=_crew_name)]
    drawn = [
        (name, [Week(week.monday, week.hours, week.capacity_hours) for week in weeks])
        for name, weeks in by_crew
        if any(week.hours or week.capacity_hours for week in weeks)
    ]
    shown = Paginator(drawn, CREWS_A_PAGE).get_page(number)
    named = {name for name, _ in shown}
    over = [
        week for name, weeks in by_crew for week in weeks if name in named and week.hours > week.capacity_hours + 0.05
    ]
    picture = load_chart(f"Person-hours a week of the crews, {season}", list(shown))
    return {"picture": picture, "over": over, "rows": shown}


def _crew_name(week: CrewWeek) -> str:
    return week.crew.name


def _cost(season: Season, question: CalendarQuestion, number: int) -> dict[str, Any]:
    run = question.run
    name = f"cost-weeks/season-{season.pk}/run-{run.pk if run else 'none'}"
    weeks = kept(name, changes_version(), lambda: cost_weeks(season, run))
    budget = None if season.budget_cents is None else season.budget_cents / 100
    drawn = [(week.monday, *_dollars(week)) for week in weeks] if weeks and weeks[-1].mean_cents else []
    return {
        "picture": cost_course(f"Planned cost of {season} by week", drawn, budget),
        "total": _dollars(weeks[-1]) if drawn else None,
    }


def _dollars(week: CostWeek) -> tuple[float, float, float]:
    return week.low_cents / 100, week.likely_cents / 100, week.high_cents / 100


PICTURES = {"chart": _chart, "load": _load, "cost": _cost}
