"""When a method may be used on a patch in a season: the site's calendar, the species' fruit and the season's days."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from estimating.columns import Known
from estimating.inputs import GROWTH_FORMS
from estimating.methods import Method as MethodFacts
from estimating.methods import MethodTable
from estimating.timing import CalendarDay, SeasonCalendar, SeedFacts, TimingFacts, Window, seed_deadline, window_report
from orders.estimates.convert import ANSWERS, method_table
from orders.estimates.selectors import methods
from orders.planning.models import Season
from orders.sites.models import Species, Survey, SurveyComponent
from orders.sites.selectors import CalendarMean, site_calendar

CALENDAR_KINDS = {"leaf_off": "leaf_off", "leaf_out": "leaf_out", "ephemerals_emerge": "ephemerals"}


@dataclass(frozen=True)
class Days:
    first: date
    last: date
    because: str

    @property
    def count(self) -> int:
        return (self.last - self.first).days + 1


class SeasonWindows:
    """Windows of one season; methods and the sites' calendars are read once."""

    def __init__(self, season: Season) -> None:
        self.season = season
        self._records: dict[int, dict[str, CalendarMean]] = {}

    @cached_property
    def methods(self) -> MethodTable:
        return method_table(methods())

    def days(self, survey: Survey, method: str) -> Days | None:
        """The longest open window of a method on a surveyed patch, cut off at a seed deadline; None where none is open.

        A season year's dormant window ends in the next year, so the year before is looked at too.
        """
        facts, components, calendar = self.methods[method], list(survey.components.all()), self._calendar(survey)
        first, last = self.season.first_day, self.season.last_day
        found = [
            Days(max(window.opens, first), min(window.closes, last), _because(window))
            for window in self._windows(survey, facts, calendar)
        ]
        longest = max((days for days in found if days.first <= days.last), key=lambda days: days.count, default=None)
        return longest and self._before_seed(longest, facts, components, calendar)

    def notes(self, survey: Survey, method: str) -> tuple[str, ...]:
        """Why a method has no window, and what of the day itself matters."""
        facts, calendar = self.methods[method], self._calendar(survey)
        report = window_report(facts, timing_facts(survey), calendar, self.season.first_day.year)
        return (*report.notes, *report.conditions)

    def _windows(self, survey: Survey, method: MethodFacts, calendar: SeasonCalendar) -> list[Window]:
        years = range(self.season.first_day.year - 1, self.season.last_day.year + 1)
        facts = timing_facts(survey)
        return [window for year in years for window in window_report(method, facts, calendar, year).windows]

    def _calendar(self, survey: Survey) -> SeasonCalendar:
        site = survey.patch.site
        if site.pk not in self._records:
            self._records[site.pk] = site_calendar(site)
        return season_calendar(self._records[site.pk], [row.species for row in survey.components.all()])

    def _before_seed(
        self, days: Days, method: MethodFacts, components: Sequence[SurveyComponent], calendar: SeasonCalendar
    ) -> Days:
        """Work that takes the fruit away comes before the seed deadline; after it the window stays as it is, late."""
        seeds = [
            SeedFacts(growth_form=GROWTH_FORMS.index(row.growth_form.code), fertile=ANSWERS[row.fertile])
            for row in components
        ]
        if not method.removes_fruit or calendar.fruiting_first is None:
            return days
        deadline = seed_deadline(seeds, calendar, self.season.first_day.year)
        if deadline is None or not days.first <= deadline.due < days.last:
            return days
        return Days(days.first, deadline.due, f"{days.because} Before fruit: {deadline.because}.")


def _because(window: Window) -> str:
    return f"Opens: {window.opens_because}. Closes: {window.closes_because}."


def timing_facts(survey: Survey) -> TimingFacts:
    evergreen = any(component.species.evergreen for component in survey.components.all())
    return TimingFacts(
        spring_ephemerals=ANSWERS[survey.spring_ephemerals], evergreen=Known.YES if evergreen else Known.NO
    )


def season_calendar(records: dict[str, CalendarMean], species: Sequence[Species]) -> SeasonCalendar:
    """The site's own records, and the earliest fruiting among the species."""
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
