"""Sites: the list, and one site with its calendar, closures, weather and checklist."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.db.models import Count, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from estimating.season_calendar import Margins
from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.charts_site import COMMON_YEAR, KindOfDay, calendar_spread, degree_day_course
from orders.desk.forms import asked
from orders.desk.list_rows import SITES
from orders.desk.listed import file_asked
from orders.desk.navigation import DESK, EVERY_ROLE, OFFICE, page_opens_to
from orders.desk.site_forms import SORTS, SiteListForm, SitePageForm, WeatherForm
from orders.desk.views.estimates import Column
from orders.desk.views.pages import page
from orders.estimates.selectors import method_names
from orders.sites.advice import degree_day_sums, site_advice
from orders.sites.models import CalendarEvent, DailyWeather, Site
from orders.sites.season_facts import in_year
from orders.sites.selectors import (
    CalendarMean,
    calendar_events,
    checklist,
    closures,
    questions_open,
    site_calendar,
    site_get,
    sites,
)
from orders.sites.weather import site_weather, years_covered

ROWS_A_PAGE = 50
CLOSURES_A_PAGE = 20
WHAT = "The pages of sites"
HEADINGS = {"code": "Code", "name": "Site", "patches": "Patches", "records": "Calendar records"}
LARGEST_FIRST = ("patches", "records")
LEAST_YEARS = Margins().least_years
# What an emergency plan must say.
PLAN = {
    "emergency_access": "the way in for an ambulance",
    "meeting_lat": "the meeting point",
    "nearest_medical_help": "the nearest medical help",
    "medical_phone": "its telephone",
    "medical_address": "its address",
    "radio_or_phone": "what radio or telephone works there",
}


@require_safe
@page
def site_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, WHAT)
    form = SiteListForm(request.GET)
    told = asked(form)
    sort = told["sort"] or "code"
    found = _listed(told["q"], sort)
    if file_asked(request):
        return SITES.reply(found)
    rows = Paginator(found, ROWS_A_PAGE).get_page(told["page"] or 1)
    stamp = Stamp(by=actor, at=now())
    still_open = questions_open({row.pk: stamp.local_date(row.time_zone) for row in rows})
    shown = {
        "form": form,
        "question": told["q"],
        "sees_patches": actor.has_role(*OFFICE),
        "sort": sort,
        "headings": [_column(name, sort, told["q"]) for name in HEADINGS],
        "rows": rows,
        "listed": [(row, still_open[row.pk]) for row in rows],
    }
    return render(request, "desk/sites.html", shown)


def _listed(text: str, sort: str) -> QuerySet[Site]:
    turn = "-" if sort.startswith("-") else ""
    order = [f"{turn}{field}" for field in SORTS[sort.removeprefix("-")]]
    rows = (
        sites()
        .defer("boundary")
        .annotate(patch_count=Count("patches", distinct=True), record_count=Count("calendar", distinct=True))
    )
    for word in text.split():
        rows = rows.filter(Q(code__icontains=word) | Q(name__icontains=word) | Q(jurisdiction__name__icontains=word))
    return rows.order_by(*order, "code")


def _column(name: str, sort: str, text: str) -> Column:
    first = f"-{name}" if name in LARGEST_FIRST else name
    turned = name if first.startswith("-") else f"-{name}"
    told = {"q": text, "sort": turned if sort == first else first}
    address = f"?{urlencode({key: value for key, value in told.items() if value})}"
    direction = "descending" if sort.startswith("-") else "ascending"
    is_sorted = sort.removeprefix("-") == name
    return Column(HEADINGS[name], address, direction if is_sorted else "", name in LARGEST_FIRST)


@require_safe
@page
def site_page(request: HttpRequest, actor: User, site_id: UUID) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, WHAT)
    return site_shown(request, actor, site_get(site_id))


def site_shown(
    request: HttpRequest,
    actor: User,
    site: Site,
    *,
    weather_form: WeatherForm | None = None,
    refusal: Refusal | None = None,
) -> HttpResponse:
    """One site; `weather_form` and `refusal` are those of a file that was not taken."""
    today = Stamp(by=actor, at=now()).local_date(site.time_zone)
    weather = site_weather(site)
    told = {
        "site": site,
        "today": today,
        "may_edit": actor.has_role(*DESK),
        "sees_patches": actor.has_role(*OFFICE),
        "advice": site_advice(site, today, weather),
        "questions": checklist(site, today),
        "plan_gaps": [words for name, words in PLAN.items() if getattr(site, name) in ("", None)],
        **_calendar(site),
        **_closures(request, site),
        **_weather(weather, today),
        "weather_form": weather_form or WeatherForm(),
        "refusal": refusal,
    }
    status = refusal.status if refusal else 400 if weather_form else 200
    return render(request, "desk/site.html", told, status=status)


@dataclass(frozen=True)
class CalendarYear:
    """The records of one season, in the order of the kinds; None where there is none."""

    year: int
    events: tuple[CalendarEvent | None, ...]


def _calendar(site: Site) -> dict[str, Any]:
    means = site_calendar(site)
    kinds = [(code, words) for code, words in CalendarEvent.KINDS if code in means]
    by_year: dict[int, dict[str, CalendarEvent]] = defaultdict(dict)
    for event in calendar_events(site):
        by_year[event.year][event.kind] = event
    years = [
        CalendarYear(year, tuple(by_year[year].get(code) for code, _ in kinds))
        for year in sorted(by_year, reverse=True)
    ]
    return {
        "kinds": kinds,
        "years": years,
        "means": [(means[code], means[code].figure.on(COMMON_YEAR)) for code, _ in kinds],
        "few": [words for code, words in kinds if means[code].years < LEAST_YEARS],
        "least_years": LEAST_YEARS,
        "calendar_picture": _picture(site, kinds, means, by_year),
    }


def _picture(
    site: Site,
    kinds: list[tuple[str, str]],
    means: dict[str, CalendarMean],
    by_year: dict[int, dict[str, CalendarEvent]],
) -> Any:
    rows = [
        KindOfDay(
            words=words,
            days={
                year: in_year(found[code].on, COMMON_YEAR + found[code].on.year - year)
                for year, found in by_year.items()
                if code in found
            },
            mean=means[code].figure.on(COMMON_YEAR),
            spread_days=means[code].spread_days,
        )
        for code, words in kinds
    ]
    return calendar_spread(f"The seasons of {site.name} by its own records", rows)


def _closures(request: HttpRequest, site: Site) -> dict[str, Any]:
    names = method_names()
    number = asked(SitePageForm(request.GET))["page"] or 1
    rows = Paginator(closures().filter(site=site).order_by("-last_day", "-id"), CLOSURES_A_PAGE).get_page(number)
    kept_out = [(row, [names.get(code, code) for code in row.methods]) for row in rows]
    return {"closures": rows, "closure_rows": kept_out}


def _weather(weather: list[DailyWeather], today: date) -> dict[str, Any]:
    sums = degree_day_sums(weather, today if not weather else min(today, weather[-1].day))
    title = "Degree days (86/50 °F) since January 1, this year beside those before"
    return {
        "covered": list(reversed(years_covered(weather))),
        "degree_picture": degree_day_course(title, sums.until, sums.years) if sums.years else None,
    }
