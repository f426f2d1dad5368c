"""When a method may be used on a patch: windows of dates, with why each opens and closes, and the seed deadline.

A season year is named by the year its growing season lies in; its dormant season begins that autumn and ends in the
next calendar year, so windows that cross the new year are ordinary. All dates are arguments or figures of the site's
own calendar; margins are the program's.
"""

import calendar
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from estimating.columns import Known
from estimating.errors import InvalidFact
from estimating.inputs import CLIMBING, SPRAWLING
from estimating.methods import Method
from estimating.units import fahrenheit

# Fruit that still hangs in these months of a year belongs to the season before.
LAST_MONTH_OF_OLD_FRUIT = 3


@dataclass(frozen=True, kw_only=True)
class CalendarDay:
    """A day of the year from the site's own records: the mean, and the standard deviation over the years in days."""

    month: int
    day: int
    spread_days: float = 0.0
    source: str = "the site's calendar"

    def __post_init__(self) -> None:
        if not 1 <= self.month <= 12 or not 1 <= self.day <= calendar.monthrange(2001, self.month)[1]:
            raise InvalidFact(f"{self.month}-{self.day} is no day of an ordinary year", "month")
        if self.spread_days < 0:
            raise InvalidFact("must be 0 or more", "spread_days")

    def on(self, year: int) -> date:
        """The mean day in a year."""
        return date(year, self.month, self.day)

    def early(self, year: int, spreads: float = 1.0) -> date:
        """The day with the spread taken off."""
        return self.on(year) - timedelta(days=round(spreads * self.spread_days))

    def late(self, year: int, spreads: float = 1.0) -> date:
        """The day with the spread put on."""
        return self.on(year) + timedelta(days=round(spreads * self.spread_days))


@dataclass(frozen=True, kw_only=True)
class SeasonCalendar:
    """What a site's records say of its year; None: no record. Spring figures serve the spring of either year."""

    leaf_out: CalendarDay | None = None
    leaf_off: CalendarDay | None = None
    ephemerals_emerge: CalendarDay | None = None
    fruiting_first: CalendarDay | None = None
    fruiting_last: CalendarDay | None = None
    ground_freezes: CalendarDay | None = None
    ground_thaws: CalendarDay | None = None


@dataclass(frozen=True, kw_only=True)
class Margins:
    """Days kept clear of what the calendar says; invented defaults, for the program to set."""

    after_leaf_off_days: int = 7
    before_ephemerals_days: int = 7
    before_leaf_out_days: int = 7
    before_fruit_days: int = 14
    shortest_window_days: int = 1


@dataclass(frozen=True)
class Closure:
    """Days, first and last included, on which the site is closed to work."""

    first: date
    last: date
    reason: str

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise InvalidFact("must not be before the first day", "last")


@dataclass(frozen=True)
class Window:
    """Days on which the work may be done, both ends included."""

    opens: date
    closes: date
    opens_because: str
    closes_because: str

    @property
    def days(self) -> int:
        """How many days it is open."""
        return (self.closes - self.opens).days + 1


@dataclass(frozen=True)
class WindowReport:
    """The open windows in order, notes where there are none or a fact is missing, and conditions of the day itself."""

    windows: tuple[Window, ...]
    notes: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class TimingFacts:
    """What the windows need to know of a patch."""

    spring_ephemerals: Known = Known.UNKNOWN
    evergreen: Known = Known.UNKNOWN


@dataclass(frozen=True, kw_only=True)
class SeedFacts:
    """What the seed deadline needs to know of a component."""

    growth_form: int
    fertile: Known
    fruit_seen_on: date | None = None


@dataclass(frozen=True)
class SeedDeadline:
    """Cut or remove before fruit: the last day, and whether fruit was already seen, which makes it late, not later."""

    due: date
    late: bool
    because: str


@dataclass(frozen=True)
class _Edge:
    """A candidate end of a window."""

    day: date
    because: str


def _whole_year(season_year: int) -> tuple[_Edge, _Edge]:
    first = _Edge(date(season_year, 1, 1), "the season year begins")
    return first, _Edge(date(season_year + 1, 3, 31), "the season's winter is over")


def _dormant(facts: TimingFacts, site: SeasonCalendar, season_year: int, margins: Margins) -> tuple[_Edge, _Edge] | str:
    """From leaf-off until spring ephemerals emerge or leaf-out, whichever is first, each with its margin."""
    if facts.evergreen == Known.NO:
        return "The plant drops its leaves: there is nothing to spray while natives are dormant."
    if site.leaf_off is None or site.leaf_out is None:
        return "The site's calendar has no leaf-off or leaf-out date: enter its records first."
    opens = site.leaf_off.late(season_year) + timedelta(days=margins.after_leaf_off_days)
    spring = season_year + 1
    ends = [
        _Edge(
            site.leaf_out.early(spring) - timedelta(days=margins.before_leaf_out_days),
            f"natives leaf out, less {margins.before_leaf_out_days} days",
        )
    ]
    if site.ephemerals_emerge is not None and facts.spring_ephemerals != Known.NO:
        may = "" if facts.spring_ephemerals == Known.YES else ", which may grow here"
        ends.append(
            _Edge(
                site.ephemerals_emerge.early(spring) - timedelta(days=margins.before_ephemerals_days),
                f"spring ephemerals{may} emerge, less {margins.before_ephemerals_days} days",
            )
        )
    elif site.ephemerals_emerge is None and facts.spring_ephemerals != Known.NO:
        return "Spring ephemerals grow here, or may, and the site's calendar does not say when they emerge."
    start = _Edge(opens, f"natives are out of leaf, plus {margins.after_leaf_off_days} days")
    return start, min(ends, key=lambda edge: edge.day)


def _growing(site: SeasonCalendar, season_year: int) -> tuple[_Edge, _Edge] | str:
    """While the target is in leaf: from leaf-out to leaf-off."""
    if site.leaf_off is None or site.leaf_out is None:
        return "The site's calendar has no leaf-off or leaf-out date: enter its records first."
    start = _Edge(site.leaf_out.late(season_year), "the plant is in leaf")
    return start, _Edge(site.leaf_off.early(season_year), "leaves begin to fall")


def _unfrozen(site: SeasonCalendar, season_year: int) -> tuple[_Edge, _Edge]:
    """While the ground can be worked; without records of frost, all year."""
    first, last = _whole_year(season_year)
    if site.ground_thaws is not None:
        first = _Edge(site.ground_thaws.late(season_year), "the ground has thawed")
    if site.ground_freezes is not None:
        last = _Edge(site.ground_freezes.early(season_year), "the ground freezes")
    return first, last


def season_edges(
    method: Method, facts: TimingFacts, site: SeasonCalendar, season_year: int, margins: Margins
) -> tuple[_Edge, _Edge] | str:
    """First and last day by the method's season rule, or why there is none."""
    if method.season_rule == "dormant season":
        return _dormant(facts, site, season_year, margins)
    if method.season_rule == "growing season":
        return _growing(site, season_year)
    if method.season_rule in ("ground not frozen", "ground firm"):
        return _unfrozen(site, season_year)
    return _whole_year(season_year)


def _cut_out(windows: Iterable[Window], closure: Closure) -> list[Window]:
    """The windows without a closure's days; a window may fall into two."""
    left = []
    for window in windows:
        if closure.last < window.opens or closure.first > window.closes:
            left.append(window)
            continue
        day = timedelta(days=1)
        if window.opens < closure.first:
            left.append(
                Window(window.opens, closure.first - day, window.opens_because, f"the site closes: {closure.reason}")
            )
        if window.closes > closure.last:
            left.append(
                Window(closure.last + day, window.closes, f"the site opens: {closure.reason}", window.closes_because)
            )
    return left


def window_report(
    method: Method,
    facts: TimingFacts,
    site: SeasonCalendar,
    season_year: int,
    closures: Sequence[Closure] = (),
    margins: Margins | None = None,
) -> WindowReport:
    """Open windows of a method on a patch in a season, less closures; a note where none is left."""
    margins = margins or Margins()
    edges = season_edges(method, facts, site, season_year, margins)
    if isinstance(edges, str):
        return WindowReport((), (edges,))
    first, last = edges
    if last.day < first.day:
        return WindowReport((), (f"The window would close ({last.because}) before it opens ({first.because}).",))
    windows = [Window(first.day, last.day, first.because, last.because)]
    for closure in sorted(closures, key=lambda closure: (closure.first, closure.last)):
        windows = _cut_out(windows, closure)
    kept = tuple(window for window in windows if window.days >= margins.shortest_window_days)
    notes = [] if kept else ["Closures leave no window open."]
    if method.season_rule == "dormant season" and facts.evergreen == Known.UNKNOWN:
        notes.append("unknown: survey first. The survey does not say if the plant keeps its leaves.")
    return WindowReport(kept, tuple(notes), day_conditions(method))


def day_conditions(method: Method) -> tuple[str, ...]:
    """What a day inside the window must be like."""
    coldest = f"At {method.lowest_temp_c:g} °C ({fahrenheit(method.lowest_temp_c):.0f} °F) or above."
    if method.season_rule == "dormant season":
        return (coldest, "In a mild spell, on dry leaves that are free of litter.")
    if method.season_rule == "bark dry":
        return (coldest, "On dry bark.")
    return (coldest,)


def windows(
    method: Method,
    facts: TimingFacts,
    site: SeasonCalendar,
    season_year: int,
    closures: Sequence[Closure] = (),
    margins: Margins | None = None,
) -> tuple[Window, ...]:
    """Only the windows of `window_report`."""
    return window_report(method, facts, site, season_year, closures, margins).windows


def season_of(day: date) -> int:
    """The season year that fruit seen on a day belongs to."""
    return day.year - 1 if day.month <= LAST_MONTH_OF_OLD_FRUIT else day.year


def carries_deadline(component: SeedFacts) -> bool:
    """Only climbing and sprawling components fruit; fertile, or not known not to be."""
    return component.growth_form in (CLIMBING, SPRAWLING) and component.fertile != Known.NO


def seed_deadline(
    components: Sequence[SeedFacts],
    site: SeasonCalendar,
    season_year: int,
    margins: Margins | None = None,
) -> SeedDeadline | None:
    """Last day to cut or remove before fruit: the early end of the fruiting range less the margin.

    None where no component can fruit. Fruit already seen in the season year makes the deadline late, and never moves it
    to a later day.
    """
    margins = margins or Margins()
    fruiting = [component for component in components if carries_deadline(component)]
    if not fruiting:
        return None
    if site.fruiting_first is None:
        raise InvalidFact("the site's calendar has no fruiting range", "fruiting_first")
    due = site.fruiting_first.early(season_year) - timedelta(days=margins.before_fruit_days)
    seen = [
        component.fruit_seen_on
        for component in fruiting
        if component.fruit_seen_on is not None and season_of(component.fruit_seen_on) == season_year
    ]
    if seen:
        return SeedDeadline(min(due, *seen), True, f"fruit was seen on {min(seen).isoformat()}")
    known = any(component.fertile == Known.YES for component in fruiting)
    what = "it fruits" if known else "it may fruit: the survey does not say"
    return SeedDeadline(due, False, f"{what}; fruiting begins, less {margins.before_fruit_days} days")
