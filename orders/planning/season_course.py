"""A season as it runs: what each crew has to do week by week, what it comes to in money, and where everything stands.

With a plan run, the same as it would be if that plan were accepted.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import NamedTuple
from uuid import UUID

import numpy as np
from django.db.models import Prefetch, Q, QuerySet, Sum

from estimating.spread import course_fit
from orders.common.errors import NotFound
from orders.crews.models import Crew
from orders.crews.selectors import crew_presence
from orders.estimates.convert import rates as rates_of
from orders.estimates.models import Estimate, Method
from orders.estimates.selectors import rate_book_in_force
from orders.planning.capacity import money_log_spreads
from orders.planning.convert import day_net_hours
from orders.planning.models import PlanRun, Prescription, Season, Visit, VisitShare
from orders.planning.overview import MOST_NAMED
from orders.planning.selectors import LEAST_SHARE, prescriptions_standing
from orders.sites.models import Patch, Site

STANDING_VISITS = ("planned", "ordered", "done")
FEW_NAMED = 200
DAYS = ("first_day", "last_day", "seed_due_on")


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


class CrewDay(NamedTuple):
    """What a crew does at a site on a day."""

    crew: int
    day: date
    drive_minutes: int
    site: int
    hours: float


class RowVisit(NamedTuple):
    """One visit's part of a prescription; `visit` is its public id."""

    day: date
    crew: Crew
    hours: float
    state: str
    visit: UUID


@dataclass(frozen=True)
class RowDays:
    """The days of one prescription: its window, the seed deadline that it meets, and the visits that serve it."""

    first_day: date
    last_day: date
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


@dataclass(frozen=True)
class SeasonRow(RowDays):
    """The same with what it is of."""

    patch: Patch
    site: Site
    prescription: Prescription
    method: Method
    window_because: str


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
    found = _crew_days(season, run)
    busy = Q(is_active=True) | Q(pk__in={row.crew for row in found})
    listed = sorted(Crew.objects.filter(busy), key=lambda crew: crew.name)
    there = crew_presence(listed, season.first_day, season.last_day)
    hours = _hours_by_week(found, there)
    net_hours = net_hours_usual()
    weeks = []
    for crew in listed:
        a_day = min(float(crew.hours_a_day), net_hours)
        given: dict[date, float] = defaultdict(float)
        for day, people in there[crew.pk].items():
            given[_monday(day)] += people * a_day
        weeks += [CrewWeek(crew, monday, hours[crew.pk, monday], given[monday]) for monday in _mondays(season)]
    return weeks


def net_hours_usual() -> float:
    """What a day leaves by the rate book in force; without one a day is not cut."""
    try:
        book = rate_book_in_force()
    except NotFound:
        return 24.0
    return day_net_hours(rates_of(book).crew_day(book.standard_crew))


def _hours_by_week(found: Iterable[CrewDay], there: dict[int, dict[date, int]]) -> defaultdict[tuple[int, date], float]:
    """By crew and Monday. A drive takes everybody who is there, once for each crew, site and day."""
    hours: defaultdict[tuple[int, date], float] = defaultdict(float)
    for row in found:
        hours[row.crew, _monday(row.day)] += row.hours
    for row in sorted(found):
        hours[row.crew, _monday(row.day)] += there[row.crew].get(row.day, 0) * 2 * row.drive_minutes / 60
    return hours


def _crew_days(season: Season, run: PlanRun | None) -> list[CrewDay]:
    rows = visits_standing(season, run).order_by()
    columns = ("crew_id", "day", "site__drive_minutes", "site_id")
    summed = rows.values_list(*columns).annotate(hours=Sum("shares__planned_hours"))
    return [CrewDay(crew, day, minutes, site, hours or 0.0) for crew, day, minutes, site, hours in summed]


def cost_weeks(season: Season, run: PlanRun | None = None) -> list[CostWeek]:
    """Cumulative, each week of the season. What one prescription's visits cost errs together."""
    by_week: dict[date, list[tuple[int, float]]] = defaultdict(list)
    for day, key, share in _shares(season, run).values_list("visit__day", "prescription_id", "share"):
        by_week[_monday(day)].append((key, share))
    asked = _estimates_of({key for shares in by_week.values() for key, _ in shares})
    place = {key: number for number, (key, _, _) in enumerate(asked)}
    cents = np.array([made.total_cents * left for _, left, made in asked], dtype=float)
    own, shared = np.array([money_log_spreads(made) for _, _, made in asked], dtype=float).reshape(-1, 2).T
    group = np.array([made.method_id for _, _, made in asked], dtype=np.int64)
    mondays = _mondays(season)
    served = np.zeros((len(mondays), len(asked)))
    for week, monday in enumerate(mondays):
        for key, share in by_week[monday]:
            served[week, place[key]] += share
    fits = course_fit(cents * served.cumsum(axis=0), own, shared, group)
    return [
        CostWeek(monday, fit.low, fit.likely, fit.high, fit.mean) for monday, fit in zip(mondays, fits, strict=True)
    ]


def _shares(season: Season, run: PlanRun | None) -> QuerySet[VisitShare]:
    """The parts of the visits that stand, in the order of their days."""
    standing = visits_standing(season, run).order_by().values("pk")
    return VisitShare.objects.filter(visit__in=standing).order_by("visit__day", "visit__crew_id", "visit_id", "id")


def season_asked(
    season: Season,
    run: PlanRun | None = None,
    site: Site | None = None,
    crew: Crew | None = None,
    state: str | None = None,
) -> QuerySet[Prescription]:
    """What is asked for at a site, or all of it, by site and patch; with a crew, what that crew has a visit for; with a
    state, what has a visit in it, and with an empty one, what has no visit."""
    rows = prescriptions_standing(season).order_by("patch__site__code", "patch__code", "first_day", "pk")
    if site is not None:
        rows = rows.filter(patch__site=site)
    shares = _shares(season, run).order_by()
    if crew is not None:
        rows = rows.filter(pk__in=shares.filter(visit__crew=crew).values("prescription"))
    if state == "":
        return rows.exclude(pk__in=shares.values("prescription"))
    return rows if state is None else rows.filter(pk__in=shares.filter(visit__state=state).values("prescription"))


def season_unserved(season: Season) -> QuerySet[Prescription]:
    """What is not done and what the standing visits do not wholly serve."""
    summed = _shares(season, None).order_by().values("prescription").annotate(total=Sum("share"))
    whole = summed.filter(total__gte=1 - LEAST_SHARE).values("prescription")
    return season_asked(season).exclude(state="done").exclude(pk__in=whole)


def crews_serving(season: Season, rows: QuerySet[Prescription], run: PlanRun | None = None) -> QuerySet[Crew]:
    """Who has a visit for some of what is asked for, by name."""
    shares = _shares(season, run).order_by().filter(prescription__in=rows.order_by().values("pk"))
    return Crew.objects.filter(pk__in=shares.values("visit__crew")).order_by("name")


def season_rows(
    season: Season,
    run: PlanRun | None = None,
    site: Site | None = None,
    crew: Crew | None = None,
) -> list[SeasonRow]:
    """What is asked for, each with the visits that serve it."""
    return season_rows_of(season, season_asked(season, run, site, crew), run)


def season_rows_of(season: Season, rows: QuerySet[Prescription], run: PlanRun | None = None) -> list[SeasonRow]:
    """Some of what is asked for, in its order. Patches, sites and methods are read once however many rows name them."""
    asked = list(rows.select_related(None).select_related("estimate"))
    patches = _patches({row.patch_id for row in asked})
    methods = {method.pk: method for method in Method.objects.select_related("qualification")}
    visits, shares = _visits_by_prescription(season, [row.pk for row in asked], run)
    for row in asked:
        row.patch, row.method, row.season = patches[row.patch_id], methods[row.method_id], season
    made = [_row(row, tuple(visits[row.pk]), shares[row.pk]) for row in asked]
    return sorted(made, key=lambda row: (row.site.code, row.patch.code, row.first_day, row.prescription.pk))


def season_days_of(
    season: Season, rows: QuerySet[Prescription], run: PlanRun | None = None
) -> list[tuple[int, RowDays]]:
    """The days alone of some of what is asked for, each with the key of its site: a picture shows thousands of them."""
    told = list(rows.order_by("patch__code", "first_day", "pk").values_list("pk", "patch__site_id", *DAYS))
    visits, shares = _visits_by_prescription(season, [key for key, *_ in told], run)
    return [(site, RowDays(first, last, due, tuple(visits[key]), shares[key])) for key, site, first, last, due in told]


def _patches(keys: Collection[int]) -> dict[int, Patch]:
    sites = {site.pk: site for site in Site.objects.select_related("jurisdiction").defer("boundary")}
    named = Patch.objects.filter(pk__in=keys) if len(keys) <= MOST_NAMED else Patch.objects.all()
    found = {patch.pk: patch for patch in named.order_by()}
    for patch in found.values():
        patch.site = sites[patch.site_id]
    return found


def _visits_by_prescription(
    season: Season, keys: Collection[int], run: PlanRun | None
) -> tuple[dict[int, list[RowVisit]], dict[int, float]]:
    """Of the rows that are shown alone: what asks for them may take far longer to answer than they do to read."""
    visits: dict[int, list[RowVisit]] = defaultdict(list)
    shares: dict[int, float] = defaultdict(float)
    crews = {crew.pk: crew for crew in Crew.objects.all()}
    named, found = set(keys), _shares(season, run)
    # With more of them a database tries every visit with every one, which takes longer than to read all.
    found = found.filter(prescription__in=named) if len(named) <= FEW_NAMED else found
    columns = ("visit__day", "visit__crew_id", "planned_hours", "visit__state", "visit__public_id")
    for day, crew, hours, state, visit, key, share in found.values_list(*columns, "prescription_id", "share"):
        if key in named:
            visits[key].append(RowVisit(day, crews[crew], hours, state, visit))
            shares[key] += share
    return visits, shares


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


def _estimates_of(keys: set[int]) -> list[tuple[int, float, Estimate]]:
    """Of prescriptions: key, what is left of it, and its estimate's figures of money. Dropped ones too: a visit done
    counts, whatever came of it later."""
    money = ("total_cents", "cost_low_cents", "cost_high_cents", "own_log_sd", "shared_log_sd", "method_id")
    rows = Prescription.objects.filter(pk__in=keys).order_by("id")
    columns = ("pk", "share_left", *(f"estimate__{name}" for name in money))
    return [
        (key, left, Estimate(**dict(zip(money, told, strict=True)))) for key, left, *told in rows.values_list(*columns)
    ]


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _mondays(season: Season) -> list[date]:
    first = _monday(season.first_day)
    return [first + timedelta(weeks=number) for number in range((season.last_day - first).days // 7 + 1)]
