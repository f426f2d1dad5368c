"""A season's week: crews by days with their visits, and what has no visit yet."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from django import forms
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from orders.common.models import User
from orders.crews.models import Crew
from orders.crews.selectors import crew_presence
from orders.desk.forms import asked
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.views.pages import page
from orders.desk.views.patches import today_of
from orders.planning.models import Season, Visit
from orders.planning.season_course import SeasonRow, crew_weeks, season_rows
from orders.planning.selectors import LEAST_SHARE, season_get, visits

ROWS_A_PAGE = 25
ON_THE_BOARD = ("planned", "ordered", "done", "not_done")
WHAT = "The board of a season"


@dataclass(frozen=True)
class Cell:
    """A crew's day: its visits with their hours. `people` are there that day; none: a day off."""

    day: date
    people: int
    visits: Sequence[tuple[Visit, float]]


@dataclass(frozen=True)
class BoardRow:
    crew: Crew
    cells: Sequence[Cell]
    hours: float
    capacity_hours: float

    @property
    def is_over(self) -> bool:
        return self.hours > self.capacity_hours + 0.05


@dataclass(frozen=True)
class Unplanned:
    """What a prescription still asks for, with the share and the hours that no visit serves."""

    row: SeasonRow

    @property
    def share(self) -> float:
        return 1.0 - self.row.share_served

    @property
    def hours(self) -> float:
        asked_for = self.row.prescription
        return asked_for.estimate.hours_likely * asked_for.share_left * self.share


class WeekForm(forms.Form):
    week = forms.DateField(required=False)


@require_safe
@page
def board_page(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    season = season_get(season_id)
    monday = _monday(asked(WeekForm(request.GET))["week"] or today_of(actor), season)
    days = [monday + timedelta(days=number) for number in range(7)]
    told = {
        "season": season,
        "here": "board",
        "days": days,
        "board": _rows(season, days),
        "earlier": monday - timedelta(weeks=1) if monday > season.first_day else None,
        "later": monday + timedelta(weeks=1) if days[-1] < season.last_day else None,
        "unplanned": Paginator(_unplanned(season), ROWS_A_PAGE).get_page(request.GET.get("page", "1")),
        "may_move": actor.has_role(*DESK),
    }
    return render(request, "desk/board.html", told)


def _monday(day: date, season: Season) -> date:
    """Of the week that holds the day, or of the season's first or last week where it lies outside."""
    held = min(max(day, season.first_day), season.last_day)
    return held - timedelta(days=held.weekday())


def _rows(season: Season, days: Sequence[date]) -> list[BoardRow]:
    """Active crews and whoever else has a visit, by name."""
    found = visits(season).filter(day__range=(days[0], days[-1]), state__in=ON_THE_BOARD)
    by_crew: Mapping[int, list[Visit]] = defaultdict(list)
    for visit in found.select_related("order_visit__order").defer("site__boundary"):
        by_crew[visit.crew_id].append(visit)
    weeks = [week for week in crew_weeks(season) if week.monday == days[0]]
    there = crew_presence([week.crew for week in weeks], days[0], days[-1])
    return [
        BoardRow(
            week.crew,
            [_cell(day, by_crew[week.crew.pk], there[week.crew.pk]) for day in days],
            week.hours,
            week.capacity_hours,
        )
        for week in weeks
        if week.crew.is_active or by_crew[week.crew.pk]
    ]


def _cell(day: date, held: Sequence[Visit], there: Mapping[date, int]) -> Cell:
    shown = [(visit, sum(share.planned_hours for share in visit.shares.all())) for visit in held if visit.day == day]
    return Cell(day, there.get(day, 0), shown)


def _unplanned(season: Season) -> list[Unplanned]:
    """What is not done and not wholly served, the nearest end of its window first."""
    rows = [row for row in season_rows(season) if row.share_served < 1 - LEAST_SHARE]
    left = [row for row in rows if row.prescription.state != "done"]
    return [Unplanned(row) for row in sorted(left, key=lambda row: (row.last_day, str(row.patch)))]
