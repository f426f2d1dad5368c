"""The recommended prescriptions of a season: which method, in which window, and why."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from estimating.columns import Known
from estimating.inputs import GROWTH_FORMS
from estimating.methods import Method as MethodFacts
from estimating.suitability import Suitability
from estimating.timing import CalendarDay, SeasonCalendar, SeedFacts, TimingFacts, seed_deadline, window_report
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.estimates.convert import ANSWERS, method_table
from orders.estimates.models import Estimate
from orders.estimates.selectors import estimates_newest, methods
from orders.estimates.services import survey_suitability
from orders.planning.models import Prescription, Season
from orders.planning.selectors import prescriptions
from orders.planning.services import prescription_add
from orders.sites.models import Site, Species, Survey, SurveyComponent
from orders.sites.selectors import site_calendar, surveys_current


@dataclass(frozen=True)
class Days:
    first: date
    last: date
    because: str


@writing()
def prescribe_recommended(*, season: Season, repeat_years: Mapping[int, int], stamp: Stamp) -> list[Prescription]:
    """One prescription for each method that is recommended on a patch and not asked for there yet.

    A patch whose recommendation waits for the survey, has no estimate or no open window is left alone; its suitability
    page says why.
    """
    surveys = list(surveys_current())
    suited = survey_suitability(surveys, repeat_years)
    made = estimates_newest(surveys)
    asked = set(prescriptions(season).exclude(state="dropped").values_list("patch_id", "method__code"))
    chosen = _recommended(surveys, suited)
    return [
        prescription
        for (row, code), why in chosen.items()
        if (surveys[row].patch_id, code) not in asked and (surveys[row].pk, code) in made
        for prescription in _prescribe(season, made[surveys[row].pk, code], why, stamp)
    ]


def _recommended(surveys: Sequence[Survey], suited: Suitability) -> dict[tuple[int, str], str]:
    """The recommended methods by survey, with the reason of the first component that asks for each."""
    chosen: dict[tuple[int, str], str] = {}
    for component in np.flatnonzero(suited.recommended >= 0):
        method = int(suited.recommended[component])
        if suited.fits[component, method] == Known.YES:
            row = int(suited.site.components.patch_index[component])
            chosen.setdefault((row, suited.methods.codes[method]), suited.why(int(component)))
    return dict(sorted(chosen.items()))


def _prescribe(season: Season, estimate: Estimate, why: str, stamp: Stamp) -> list[Prescription]:
    days = window_in_season(season, estimate)
    if days is None:
        return []
    prescription = prescription_add(
        season=season,
        estimate=estimate,
        first_day=days.first,
        last_day=days.last,
        window_because=days.because,
        why=why,
        stamp=stamp,
    )
    return [prescription]


def window_in_season(season: Season, estimate: Estimate) -> Days | None:
    """The longest open window of the estimate's method on its patch within the season, cut off at a seed deadline.

    A season year's dormant window ends in the next year, so the year before is looked at too.
    """
    survey = estimate.survey
    method = method_facts(estimate.method.code)
    components = list(survey.components.select_related("species", "growth_form").order_by("id"))
    calendar = season_calendar(survey.patch.site, [component.species for component in components])
    facts = timing_facts(survey, components)
    found = [
        Days(max(window.opens, season.first_day), min(window.closes, season.last_day), _because(window))
        for year in range(season.first_day.year - 1, season.last_day.year + 1)
        for window in window_report(method, facts, calendar, year).windows
    ]
    days = max((days for days in found if days.first <= days.last), key=_length, default=None)
    return days and _before_seed(season, days, method, components, calendar)


def _length(days: Days) -> int:
    return (days.last - days.first).days


def _because(window: object) -> str:
    opens, closes = window.opens_because, window.closes_because  # type: ignore[attr-defined]
    return f"Opens: {opens}. Closes: {closes}."


def _before_seed(
    season: Season, days: Days, method: MethodFacts, components: list[SurveyComponent], calendar: SeasonCalendar
) -> Days:
    """Work that takes the fruit away comes before the seed deadline; after it the window stays as it is, late."""
    seeds = [
        SeedFacts(growth_form=GROWTH_FORMS.index(row.growth_form.code), fertile=ANSWERS[row.fertile])
        for row in components
    ]
    if not method.removes_fruit or calendar.fruiting_first is None:
        return days
    deadline = seed_deadline(seeds, calendar, season.first_day.year)
    if deadline is None or not days.first <= deadline.due < days.last:
        return days
    return Days(days.first, deadline.due, f"{days.because} Before fruit: {deadline.because}.")


def method_facts(code: str) -> MethodFacts:
    return method_table(methods())[code]


def timing_facts(survey: Survey, components: Sequence[SurveyComponent]) -> TimingFacts:
    evergreen = any(component.species.evergreen for component in components)
    return TimingFacts(
        spring_ephemerals=ANSWERS[survey.spring_ephemerals], evergreen=Known.YES if evergreen else Known.NO
    )


CALENDAR_KINDS = {"leaf_off": "leaf_off", "leaf_out": "leaf_out", "ephemerals_emerge": "ephemerals"}


def season_calendar(site: Site, species: Sequence[Species]) -> SeasonCalendar:
    """The site's own records, and the earliest fruiting among the species."""
    records = site_calendar(site)
    days = {
        name: CalendarDay(month=record.month, day=record.day, spread_days=record.spread_days or 0.0)
        for name, kind in CALENDAR_KINDS.items()
        if (record := records.get(kind))
    }
    starts = [
        CalendarDay(month=row.fruit_first_month, day=row.fruit_first_day, source=row.phenology_source)
        for row in species
        if row.fruit_first_month and row.fruit_first_day
    ]
    first = min(starts, key=lambda day: (day.month, day.day), default=None)
    return SeasonCalendar(**days, fruiting_first=first)
