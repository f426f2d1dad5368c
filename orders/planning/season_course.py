"""A season as it runs: what each crew has to do week by week, what it comes to in money, and where everything stands.

With a plan run, the same as it would be if that plan were accepted.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import NamedTuple
from uuid import UUID

import numpy as np
from django.db.models import Prefetch, QuerySet

from estimating.spread import season_fit
from orders.common.errors import NotFound
from orders.crews.models import Crew
from orders.crews.selectors import crew_presence
from orders.estimates.convert import rates as rates_of
from orders.estimates.models import Method
from orders.estimates.selectors import rate_book_in_force
from orders.planning.capacity import money_log_spreads
from orders.planning.convert import day_net_hours
from orders.planning.models import PlanRun, Prescription, Season, Visit, VisitShare
from orders.planning.selectors import LEAST_SHARE, prescriptions_standing
from orders.sites.models import Patch, Site

STANDING_VISITS = ("planned", "ordered", "done")


@dataclass(frozen=True)
class CrewWeek:
    """Person-hours of work and drive in a week, against what the crew's days of that week leave for them."""

    crew: Crew
    monday: date
    hours: float
    capacity_hours: float


@dataclass(frozen=True)
class CostWeek:
    """What all visits up to the end of a week come to; the range keeps the error that orders of one method share."""

    monday: date
    low_cents: float
    likely_cents: float
    high_cents: float
    mean_cents: float


class RowVisit(NamedTuple):
    """One visit's part of a prescription; `visit` is its public id."""

    day: date
    crew: Crew
    hours: float
    state: str
    visit: UUID


@dataclass(frozen=True)
class SeasonRow:
    """One prescription: its window, the seed deadline that it meets, and the visits that serve it."""

    patch: Patch
    site: Site
    prescription: Prescription
    method: Method
    first_day: date
    last_day: date
    window_because: str
    seed_due_on: date | None
    visits: tuple[RowVisit, ...]
    share_served: float

    @property
    def deadline(self) -> str:
        """What the plan makes of the seed deadline: met, late (some of it after), owed (not all of it has a visit), or
        nothing where there is none."""
        if self.seed_due_on is None:
            return ""
        if self.share_served < 1 - LEAST_SHARE:
            return "owed"
        return "late" if any(visit.day > self.seed_due_on for visit in self.visits) else "met"


def visits_standing(season: Season, run: PlanRun | None = None) -> QuerySet[Visit]:
    """What is planned, on an order or done. With a run, what would stand if it were accepted: its own visits, what is
    done, on an order or kept by hand, and, where it plans again, all that it does not move."""
    shares = VisitShare.objects.order_by("id")
    rows = Visit.objects.filter(season=season).select_related("crew", "site").defer("site__boundary")
    rows = rows.prefetch_related(Prefetch("shares", queryset=shares)).order_by("day", "crew_id", "id")
    standing = rows.filter(state__in=STANDING_VISITS)
    if run is None:
        return standing
    if run.purpose != "replan":
        standing = standing.exclude(state="planned", is_kept=False)
    replaced = run.visits.filter(replaces__isnull=False).order_by().values("replaces")
    told = [row["visit"] for row in run.moved if row.get("visit")]
    return standing.exclude(pk__in=replaced).exclude(public_id__in=told) | rows.filter(plan_run=run)


def crew_weeks(season: Season, run: PlanRun | None = None) -> list[CrewWeek]:
    """Every active crew and whoever else has a visit, each week of the season, by crew and week."""
    found = list(visits_standing(season, run))
    crews = {crew.pk: crew for crew in [*Crew.objects.filter(is_active=True), *(visit.crew for visit in found)]}
    listed = sorted(crews.values(), key=lambda crew: crew.name)
    there = crew_presence(listed, season.first_day, season.last_day)
    hours = _hours_by_week(found, there)
    net_hours = _net_hours()
    weeks = []
    for crew in listed:
        a_day = min(float(crew.hours_a_day), net_hours)
        given: dict[date, float] = defaultdict(float)
        for day, people in there[crew.pk].items():
            given[_monday(day)] += people * a_day
        weeks += [CrewWeek(crew, monday, hours[crew.pk, monday], given[monday]) for monday in _mondays(season)]
    return weeks


def _net_hours() -> float:
    """What a day leaves by the rate book in force; without one a day is not cut."""
    try:
        book = rate_book_in_force()
    except NotFound:
        return 24.0
    return day_net_hours(rates_of(book).crew_day(book.standard_crew))


def _hours_by_week(found: Iterable[Visit], there: dict[int, dict[date, int]]) -> defaultdict[tuple[int, date], float]:
    """By crew and Monday. A drive takes everybody who is there, once for each crew, site and day."""
    hours: defaultdict[tuple[int, date], float] = defaultdict(float)
    driven = set()
    for visit in found:
        hours[visit.crew_id, _monday(visit.day)] += sum(share.planned_hours for share in visit.shares.all())
        driven.add((visit.crew_id, visit.day, visit.site.drive_minutes, visit.site_id))
    for crew, day, minutes, _ in sorted(driven):
        hours[crew, _monday(day)] += there[crew].get(day, 0) * 2 * minutes / 60
    return hours


def cost_weeks(season: Season, run: PlanRun | None = None) -> list[CostWeek]:
    """Cumulative, each week of the season. What one prescription's visits cost errs together."""
    by_week: dict[date, list[VisitShare]] = defaultdict(list)
    for visit in visits_standing(season, run):
        by_week[_monday(visit.day)] += visit.shares.all()
    asked = _prescriptions_of(share for shares in by_week.values() for share in shares)
    place = {row.pk: number for number, row in enumerate(asked)}
    cents = np.array([row.estimate.total_cents * row.share_left for row in asked], dtype=float)
    own, shared = np.array([money_log_spreads(row.estimate) for row in asked], dtype=float).reshape(-1, 2).T
    group = np.array([row.estimate.method_id for row in asked], dtype=np.int64)
    served, weeks = np.zeros(len(asked)), []
    for monday in _mondays(season):
        for share in by_week[monday]:
            served[place[share.prescription_id]] += share.share
        begun = served > 0
        fit = season_fit((cents * served)[begun], own[begun], shared[begun], group[begun])
        weeks.append(CostWeek(monday, fit.low, fit.likely, fit.high, fit.mean))
    return weeks


def season_rows(
    season: Season, run: PlanRun | None = None, site: Site | None = None, crew: Crew | None = None
) -> list[SeasonRow]:
    """What is asked for at a site, or all of it, by site and patch; with a crew, what that crew has a visit for."""
    visits: dict[int, list[RowVisit]] = defaultdict(list)
    shares: dict[int, float] = defaultdict(float)
    for visit in visits_standing(season, run):
        for share in visit.shares.all():
            part = RowVisit(visit.day, visit.crew, share.planned_hours, visit.state, visit.public_id)
            visits[share.prescription_id].append(part)
            shares[share.prescription_id] += share.share
    asked = [row for row in prescriptions_standing(season) if site is None or row.patch.site_id == site.pk]
    rows = [_row(row, tuple(visits[row.pk]), shares[row.pk]) for row in asked]
    rows = [row for row in rows if crew is None or crew.pk in {visit.crew.pk for visit in row.visits}]
    return sorted(rows, key=lambda row: (row.site.code, row.patch.code, row.first_day, row.prescription.pk))


def rows_within(rows: Iterable[SeasonRow], first: date, last: date) -> list[SeasonRow]:
    """Those whose window, seed deadline or visits touch a span of days, with the visits of that span."""
    cut = [(row, tuple(visit for visit in row.visits if first <= visit.day <= last)) for row in rows]
    return [
        replace(row, visits=visits)
        for row, visits in cut
        if visits or (row.first_day <= last and row.last_day >= first) or _within(row.seed_due_on, first, last)
    ]


def _within(day: date | None, first: date, last: date) -> bool:
    return day is not None and first <= day <= last


def _row(asked: Prescription, visits: tuple[RowVisit, ...], share: float) -> SeasonRow:
    return SeasonRow(
        patch=asked.patch,
        site=asked.patch.site,
        prescription=asked,
        method=asked.method,
        first_day=asked.first_day,
        last_day=asked.last_day,
        window_because=asked.window_because,
        seed_due_on=asked.seed_due_on,
        visits=visits,
        share_served=share,
    )


def _prescriptions_of(shares: Iterable[VisitShare]) -> list[Prescription]:
    """What the shares are of, with its estimate; dropped ones too: a visit done counts, whatever came of it later."""
    heavy = ("estimate__inputs", "estimate__result", "estimate__products_ul")
    rows = Prescription.objects.filter(pk__in={share.prescription_id for share in shares}).order_by("id")
    return list(rows.select_related("estimate").defer(*heavy))


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _mondays(season: Season) -> list[date]:
    first = _monday(season.first_day)
    return [first + timedelta(weeks=number) for number in range((season.last_day - first).days // 7 + 1)]
