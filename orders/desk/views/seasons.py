"""Seasons: the list, and what one asks for in hours and money with its range."""

from uuid import UUID

from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from orders.common.models import User
from orders.desk.chart_svg import Chart
from orders.desk.charts import range_bars, season_total, tornado
from orders.desk.columns import Sortable
from orders.desk.list_rows import PRESCRIPTIONS, SEASONS
from orders.desk.listed import file_asked, lines_sorted, rows_sorted
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.templatetags.desk import said
from orders.desk.views.pages import page
from orders.estimates.selectors import methods
from orders.planning.models import Season
from orders.planning.selectors import season_get, seasons
from orders.planning.totals import SeasonTotals, season_totals

ROWS_A_PAGE = 50
MOST_DRAWN = 20
COLUMNS = {
    "name": Sortable("Season", "name"),
    "first": Sortable("First day", "first_day"),
    "last": Sortable("Last day", "last_day"),
    "asked": Sortable("Prescriptions", "asked", is_number=True),
    "budget": Sortable("Budget", "budget_cents", is_number=True),
}
EACH_COLUMNS = {
    "patch": Sortable("Patch and method", "prescription__patch__code"),
    "state": Sortable("State", "prescription__state"),
    "low": Sortable("Low h", "low_hours", is_number=True),
    "likely": Sortable("Likely h", "likely_hours", is_number=True),
    "high": Sortable("High h", "high_hours", is_number=True),
    "cost": Sortable("Likely cost", "likely_dollars", is_number=True),
    "range": Sortable("Low to high", is_number=True),
}
WHAT = "The page of a season"


@require_safe
@page
def season_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    standing = Count("prescriptions", filter=~Q(prescriptions__state="dropped"))
    listed = rows_sorted(request, seasons().annotate(asked=standing), COLUMNS, "-first")
    if file_asked(request):
        return SEASONS.reply(listed.found)
    rows = listed.page(request.GET.get("page", "1"), ROWS_A_PAGE)
    told = {"rows": rows, "headings": listed.headings, "may_add": actor.has_role(*DESK)}
    return render(request, "desk/seasons.html", told)


@require_safe
@page
def season_page(request: HttpRequest, actor: User, season_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    season = season_get(season_id)
    totals = season_totals(season)
    listed = lines_sorted(request, totals.rows, EACH_COLUMNS, "")
    if file_asked(request):
        return PRESCRIPTIONS.reply(listed.found)
    told = {
        "season": season,
        "here": "overview",
        "totals": totals,
        "rows": listed.page(request.GET.get("page", "1"), ROWS_A_PAGE),
        "headings": listed.headings,
        "over_budget": _chance_over(season, totals),
        "most_drawn": MOST_DRAWN,
        **(_pictures(season, totals) if totals.rows else {}),
    }
    return render(request, "desk/season.html", told)


def _chance_over(season: Season, totals: SeasonTotals) -> float | None:
    return None if season.budget_cents is None else totals.total.dollars.chance_above(season.budget_cents / 100)


def _pictures(season: Season, totals: SeasonTotals) -> dict[str, Chart]:
    hours, dollars = totals.total.hours, totals.total.dollars
    budget = None if season.budget_cents is None else season.budget_cents / 100
    drawn = [
        (f"{row.prescription.patch}: {row.prescription.method.name}", row.low_hours, row.likely_hours, row.high_hours)
        for row in totals.rows[:MOST_DRAWN]
    ]
    names = dict(methods().values_list("code", "name"))
    moved = [(said(driver.name, names), driver.low_hours, driver.high_hours) for driver in totals.drivers]
    return {
        "hours_picture": season_total(
            "Field person-hours of the season", hours.low, hours.likely, hours.high, hours.mean, None, "h"
        ),
        "cost_picture": season_total(
            "Cost of the season", dollars.low, dollars.likely, dollars.high, dollars.mean, budget, "$"
        ),
        "ranges_picture": range_bars("Field person-hours by prescription, the largest", drawn, "h"),
        "drivers_picture": tornado("What moves the season's hours", hours.mean, moved, "h"),
    }
