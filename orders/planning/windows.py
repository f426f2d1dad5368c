"""When a method may be used on a patch in a season: the site's calendar and closures, the species' year, the label's
intervals, and the season's days."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

from estimating.closures import Closure as ClosedDays
from estimating.closures import LabelInterval
from estimating.columns import Known
from estimating.inputs import GROWTH_FORMS
from estimating.methods import MethodTable
from estimating.season_calendar import Margins, SeasonCalendar
from estimating.seeds import SeedDeadline, SeedFacts, seed_deadline
from estimating.timing import TempRange, WindowReport, open_report
from estimating.window_edges import TimingFacts
from estimating.window_spans import DAY, Window
from orders.common.errors import FieldError, Invalid
from orders.common.kept import changes_version, kept
from orders.estimates.convert import ANSWERS, method_table
from orders.estimates.models import Method
from orders.estimates.selectors import methods
from orders.planning.models import Season
from orders.sites.models import Closure, Species, Survey, SurveyComponent
from orders.sites.season_facts import closed_days, holds_leaves_until, season_calendar, species_calendar
from orders.sites.selectors import site_calendars, sites
from orders.supplies.models import LabelUse, Product
from orders.supplies.selectors import products

# Days on which a product was used on a patch, by the patch's key and the product's code.
Uses = Mapping[tuple[int, str], Sequence[date]]
UsesRead = Callable[[], Uses]
SightingKey = tuple[int, int, int]  # patch, species, growth form

_USES_READ: list[UsesRead] = []


def uses_register(read: UsesRead) -> None:
    """A later stage knows where products were used; called from its AppConfig.ready()."""
    _USES_READ[:] = [read]


@dataclass(frozen=True)
class Days:
    first: date
    last: date
    because: str

    @property
    def count(self) -> int:
        return (self.last - self.first).days + 1


class SeedDue(NamedTuple):
    """The seed deadline of a species."""

    species: Species
    deadline: SeedDeadline


@dataclass(frozen=True)
class LabelTerms:
    """What labels say of a method's usual mix: products by code with the use of each, and temperatures."""

    uses: tuple[tuple[str, LabelUse], ...]
    temps_c: TempRange


class SeasonWindows:
    """Windows of one season. Methods, labels, the sites' calendars and closures, and the earlier uses of products are
    read once, whatever the patches."""

    def __init__(self, season: Season, *, margins: Margins | None = None) -> None:
        self.season = season
        self.margins = margins or Margins()
        self._reports: dict[tuple[object, ...], WindowReport] = {}

    @cached_property
    def uses(self) -> Uses:
        return _USES_READ[0]() if _USES_READ else {}

    @cached_property
    def _listed(self) -> tuple[Method, ...]:
        return tuple(methods())

    @cached_property
    def methods(self) -> MethodTable:
        return method_table(self._listed)

    def days(self, survey: Survey, method: str) -> Days | None:
        """The season's window for the work on a surveyed patch, cut off at a seed deadline; None where none is open.

        Of several it is the one with the most open days; closures in between are told, and stay closed. Work that takes
        the fruit away comes before the deadline; after it the window stays as it is, late.
        """
        spans = self._spans(survey, method)
        longest = _joined(max(spans, key=lambda parts: sum(part.days for part in parts))) if spans else None
        if longest is None or not self.methods[method].removes_fruit:
            return longest
        deadline = self.seed_due(survey)
        if deadline is None or not longest.first <= deadline.due < longest.last:
            return longest
        return Days(longest.first, deadline.due, f"{longest.because} Before fruit: {deadline.because}.")

    def all_days(self, survey: Survey, method: str) -> tuple[Days, ...]:
        """Every open window within the season, in order, whatever the seed deadline."""
        found = self.report(survey, method).windows
        return tuple(Days(window.opens, window.closes, _because(window)) for window in found)

    def _spans(self, survey: Survey, method: str) -> list[list[Window]]:
        """The open windows, those together that only closures part."""
        found = self.report(survey, method).windows
        whole = self._report(survey, method, closed=()).windows
        spans = ([part for part in found if one.opens <= part.opens <= one.closes] for one in whole)
        return [parts for parts in spans if parts]

    def first_from(self, survey: Survey, method: str, day: date) -> Days | None:
        """What is left, on or after a day, of the first window that is still open then; closures between are told."""
        for parts in self._spans(survey, method):
            left = [part for part in parts if part.closes >= day]
            if left:
                days = _joined(left)
                return Days(max(days.first, day), days.last, days.because)
        return None

    def notes(self, survey: Survey, method: str) -> tuple[str, ...]:
        """Why a method has no window, and what of the day itself matters."""
        report = self.report(survey, method)
        return (*report.notes, *report.conditions)

    def report(self, survey: Survey, method: str) -> WindowReport:
        """The open windows within the season with their reasons, notes, and conditions of the day."""
        return self._report(survey, method, self._closures.get(survey.patch.site_id, ()))

    def _report(self, survey: Survey, method: str, closed: tuple[ClosedDays, ...]) -> WindowReport:
        site_id, facts = survey.patch.site_id, timing_facts(survey)
        labels = tuple(self._intervals(survey.patch_id, method))
        key = (site_id, method, facts, labels, closed)
        if key not in self._reports:
            self._reports[key] = open_report(
                self.methods[method],
                facts,
                self._calendars.get(site_id, SeasonCalendar()),
                self.season.first_day,
                self.season.last_day,
                closed,
                self.margins,
                labels=labels,
                label_temps_c=self._labels[method].temps_c if method in self._labels else (None, None),
            )
        return self._reports[key]

    def seed_due(self, survey: Survey) -> SeedDeadline | None:
        """The earliest seed deadline of the patch in this season; None where nothing there can fruit, or nobody has
        told when it does."""
        return min((due for _, due in self.seed_dues(survey)), key=lambda due: due.due, default=None)

    def seed_dues(self, survey: Survey) -> list[SeedDue]:
        """The seed deadline of each species of the patch that has one."""
        parts: dict[Species, list[SurveyComponent]] = defaultdict(list)
        for part in survey.components.all():
            parts[part.species].append(part)
        found = ((species, self._deadline(survey, species, rows)) for species, rows in parts.items())
        return [SeedDue(species, due) for species, due in found if due is not None]

    def _deadline(self, survey: Survey, species: Species, parts: Sequence[SurveyComponent]) -> SeedDeadline | None:
        """Of the first season year whose deadline lies within the season, else of the season's first year."""
        calendar = species_calendar(species)
        if calendar.fruiting_first is None:
            return None
        facts = [seed for part in parts for seed in self._seeds(survey, part)]
        first, last = self.season.first_day, self.season.last_day
        found = [seed_deadline(facts, calendar, year, self.margins) for year in range(first.year, last.year + 1)]
        within = [due for due in found if due is not None and first <= due.due <= last]
        return within[0] if within else found[0]

    def _seeds(self, survey: Survey, part: SurveyComponent) -> Iterator[SeedFacts]:
        """What the survey that counts says of a component, and each day on which flowers or fruit were seen of it."""
        form, fertile = GROWTH_FORMS.index(part.growth_form.code), ANSWERS[part.fertile]
        to_fruit = part.species.flower_to_fruit_days
        yield SeedFacts(growth_form=form, fertile=fertile, flower_to_fruit_days=to_fruit)
        for on, condition in self._sightings.get((survey.patch_id, part.species_id, part.growth_form_id), ()):
            yield SeedFacts(
                growth_form=form,
                fertile=Known.YES,
                fruit_seen_on=on if condition == "fruit" else None,
                flowers_seen_on=on if condition == "flowers" else None,
                flower_to_fruit_days=to_fruit,
            )

    @cached_property
    def _sightings(self) -> Mapping[SightingKey, list[tuple[date, str]]]:
        """Days on which standing surveys saw flowers or fruit in the season's years."""
        seen: dict[SightingKey, list[tuple[date, str]]] = defaultdict(list)
        rows = SurveyComponent.objects.filter(
            survey__voided_at__isnull=True,
            reproductive_condition__in=("flowers", "fruit"),
            survey__observed_on__year__gte=self.season.first_day.year - 1,
        ).order_by("survey__observed_on", "id")
        for *key, on, condition in rows.values_list(
            "survey__patch_id", "species_id", "growth_form_id", "survey__observed_on", "reproductive_condition"
        ):
            seen[key[0], key[1], key[2]].append((on, condition))
        return seen

    @cached_property
    def _calendars(self) -> Mapping[int, SeasonCalendar]:
        return kept("site-calendars", changes_version(), _calendars_read)

    @cached_property
    def _closures(self) -> Mapping[int, tuple[ClosedDays, ...]]:
        """By site, those that touch the season, every year of what comes yearly."""
        found: dict[int, list[ClosedDays]] = defaultdict(list)
        for row in Closure.objects.order_by("site_id", "first_day", "id"):
            found[row.site_id] += closed_days(row, self.season.first_day, self.season.last_day)
        return {site_id: tuple(closed) for site_id, closed in found.items()}

    @cached_property
    def _labels(self) -> Mapping[str, LabelTerms]:
        by_id = {product.pk: product for product in products().filter(is_herbicide=True)}
        mixed = {row.code: row.default_mix for row in self._listed if row.default_mix is not None}
        return {
            code: label_terms(code, [by_id[part.product_id] for part in mix.parts.all() if part.product_id in by_id])
            for code, mix in mixed.items()
        }

    def _intervals(self, patch_id: int, method: str) -> Iterator[LabelInterval]:
        """The label's days between uses, for the products of the method's usual mix that were used on the patch."""
        for code, use in self._labels[method].uses if method in self._labels else ():
            days = tuple(sorted(self.uses.get((patch_id, code), ())))
            if not days or (use.least_days_between is None and use.most_uses_a_year is None):
                continue
            yield LabelInterval(
                product=use.product.name,
                last_used_on=days[-1],
                least_days=use.least_days_between or 0,
                most_uses_a_year=use.most_uses_a_year,
                used_on=days,
            )


def _calendars_read() -> dict[int, SeasonCalendar]:
    known = site_calendars(sites().values_list("pk", flat=True))
    return {site_id: season_calendar(records) for site_id, records in known.items()}


def label_terms(method: str, mixed: Sequence[Product]) -> LabelTerms:
    """The terms of the products of a mix for a method."""
    uses = [(row.code, use) for row in mixed for use in row.label_uses.all() if use.method == method]
    limits = [limit for row in mixed for limit in row.label_weather.all() if limit.measure == "temperature_c"]
    lowest = max((limit.low for limit in limits if limit.low is not None), default=None)
    highest = min((limit.high for limit in limits if limit.high is not None), default=None)
    return LabelTerms(tuple(uses), (lowest, highest))


def _because(window: Window) -> str:
    return f"Opens: {window.opens_because}. Closes: {window.closes_because}."


def _joined(parts: Sequence[Window]) -> Days:
    """From the first part to the last, with the closures between them."""
    gaps = (
        f" Not from {before.closes + DAY} to {after.opens - DAY}: {before.closes_because}."
        for before, after in pairwise(parts)
    )
    first, last = parts[0], parts[-1]
    because = f"Opens: {first.opens_because}. Closes: {last.closes_because}.{''.join(gaps)}"
    return Days(first.opens, last.closes, because)


def timing_facts(survey: Survey) -> TimingFacts:
    """What the windows need to know of a patch: whether something evergreen is there, or else what holds its leaves
    longest."""
    species = [component.species for component in survey.components.all()]
    evergreen = any(row.evergreen for row in species)
    return TimingFacts(
        spring_ephemerals=ANSWERS[survey.spring_ephemerals],
        evergreen=Known.YES if evergreen else Known.NO,
        holds_leaves_until=None if evergreen else holds_leaves_until(species),
    )


def method_codes_check(codes: Iterable[str]) -> None:
    """Refuse codes of closures that are no method's."""
    unknown = set(codes) - set(methods().values_list("code", flat=True))
    if unknown:
        raise Invalid(
            "The closure names methods that there are not.", [FieldError("methods", ", ".join(sorted(unknown)))]
        )
