"""When a method's season begins and ends in a year, by the calendar and the plant, before closures and labels."""

from dataclasses import dataclass
from datetime import date, timedelta

from estimating.columns import Known
from estimating.methods import Method
from estimating.season_calendar import CalendarDay, Margins, SeasonCalendar, years_short

RECORDS = {
    "leaf_out": "Leaf-out",
    "leaf_off": "Leaf-off",
    "ephemerals_emerge": "Spring ephemerals",
    "hard_freeze": "Hard freeze",
    "ground_freezes": "Ground freezes",
    "ground_thaws": "Ground thaws",
}
NO_LEAVES = "The site's calendar has no leaf-off or leaf-out date: enter its records first."
NO_EPHEMERALS = "Spring ephemerals grow here, or may, and the site's calendar does not say when they emerge."


@dataclass(frozen=True, kw_only=True)
class TimingFacts:
    """What the windows need to know of a patch.

    `holds_leaves_until`: when a plant that is no evergreen drops its own leaves, where that is well after natives.
    """

    spring_ephemerals: Known = Known.UNKNOWN
    evergreen: Known = Known.UNKNOWN
    holds_leaves_until: CalendarDay | None = None


@dataclass(frozen=True)
class Edge:
    """A candidate end of a window."""

    day: date
    because: str


@dataclass(frozen=True)
class SeasonEdges:
    """First and last day of a season, both or neither, and what is to be said of the records."""

    opens: Edge | None = None
    closes: Edge | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Season:
    """One season year at a site, with the records that windows may rest on: those of years enough."""

    site: SeasonCalendar
    year: int
    margins: Margins

    def known(self, name: str) -> CalendarDay | None:
        """A record, or None where there is none or its years are too few."""
        day: CalendarDay | None = getattr(self.site, name)
        return None if day is None or years_short(day, self.margins) else day

    def short(self, *names: str) -> tuple[str, ...]:
        """A sentence for each of the records whose years are too few."""
        found = ((RECORDS[name], getattr(self.site, name)) for name in names)
        return tuple(f"{words}: {years_short(day, self.margins)}." for words, day in found if day and self._few(day))

    def _few(self, day: CalendarDay) -> bool:
        return bool(years_short(day, self.margins))


def _whole_year(season: Season) -> SeasonEdges:
    first = Edge(date(season.year, 1, 1), "the season year begins")
    return SeasonEdges(first, Edge(date(season.year + 1, 3, 31), "the season's winter is over"))


def _out_of_leaf(leaf_off: CalendarDay, season: Season) -> Edge:
    days = season.margins.after_leaf_off_days
    return Edge(leaf_off.late(season.year) + timedelta(days=days), f"natives are out of leaf, plus {days} days")


def _leaf_out_ends(season: Season) -> list[Edge]:
    leaf_out, days = season.known("leaf_out"), season.margins.before_leaf_out_days
    if leaf_out is None:
        return []
    return [Edge(leaf_out.early(season.year + 1) - timedelta(days=days), f"natives leaf out, less {days} days")]


def _ephemerals_end(facts: TimingFacts, season: Season) -> list[Edge]:
    ephemerals, days = season.known("ephemerals_emerge"), season.margins.before_ephemerals_days
    if ephemerals is None or facts.spring_ephemerals == Known.NO:
        return []
    may = "" if facts.spring_ephemerals == Known.YES else ", which may grow here"
    day = ephemerals.early(season.year + 1) - timedelta(days=days)
    return [Edge(day, f"spring ephemerals{may} emerge, less {days} days")]


def _earliest(ends: list[Edge]) -> Edge:
    return min(ends, key=lambda edge: edge.day)


def _dormant(facts: TimingFacts, season: Season) -> SeasonEdges:
    """From leaf-off until spring ephemerals emerge or leaf-out, whichever is first, each with its margin."""
    if facts.holds_leaves_until is not None and facts.evergreen != Known.YES:
        return _late_green(facts, facts.holds_leaves_until, season)
    if facts.evergreen == Known.NO:
        return SeasonEdges(notes=("The plant drops its leaves: there is nothing to spray while natives are dormant.",))
    leaf_off, leaf_out_ends = season.known("leaf_off"), _leaf_out_ends(season)
    if leaf_off is None or not leaf_out_ends:
        return SeasonEdges(notes=season.short("leaf_off", "leaf_out") or (NO_LEAVES,))
    ephemerals_end = _ephemerals_end(facts, season)
    if not ephemerals_end and facts.spring_ephemerals != Known.NO:
        return SeasonEdges(notes=season.short("ephemerals_emerge") or (NO_EPHEMERALS,))
    return SeasonEdges(_out_of_leaf(leaf_off, season), _earliest([*leaf_out_ends, *ephemerals_end]))


def _late_green(facts: TimingFacts, drops: CalendarDay, season: Season) -> SeasonEdges:
    """A plant that is still green when natives are bare: from their leaf-off until it drops its own leaves or freezes.

    Several shrubs hold their leaves weeks after natives (from memory), so that a leaf-off of natives begins the window.
    """
    leaf_off, short = season.known("leaf_off"), years_short(drops, season.margins)
    if leaf_off is None:
        return SeasonEdges(notes=season.short("leaf_off") or (NO_LEAVES,))
    if short:
        return SeasonEdges(notes=(f"The plant's own leaf drop: {short}.",))
    ends = [
        Edge(drops.early(season.year), "the plant drops its own leaves"),
        *_freeze_end(season, "a hard freeze ends its leaves"),
        *_leaf_out_ends(season),
        *_ephemerals_end(facts, season),
    ]
    return SeasonEdges(_out_of_leaf(leaf_off, season), _earliest(ends), season.short("hard_freeze"))


def _freeze_end(season: Season, because: str) -> list[Edge]:
    freeze = season.known("hard_freeze")
    return [] if freeze is None else [Edge(freeze.early(season.year), because)]


def _growing(season: Season) -> SeasonEdges:
    """While the target is in leaf: from leaf-out to leaf-off, or to a hard freeze where that comes first."""
    leaf_off, leaf_out = season.known("leaf_off"), season.known("leaf_out")
    if leaf_off is None or leaf_out is None:
        return SeasonEdges(notes=season.short("leaf_off", "leaf_out") or (NO_LEAVES,))
    start = Edge(leaf_out.late(season.year), "the plant is in leaf")
    ends = [
        Edge(leaf_off.early(season.year), "leaves begin to fall"),
        *_freeze_end(season, "a hard freeze ends growth"),
    ]
    return SeasonEdges(start, _earliest(ends), season.short("hard_freeze"))


def _unfrozen(season: Season) -> SeasonEdges:
    """While the ground can be worked; without records of frost, all year."""
    thaws, freezes = season.known("ground_thaws"), season.known("ground_freezes")
    whole, notes = _whole_year(season), season.short("ground_thaws", "ground_freezes")
    first, last = whole.opens, whole.closes
    if thaws is not None:
        first = Edge(thaws.late(season.year), "the ground has thawed")
        last = Edge(date(season.year, 12, 31), "the year ends, and the calendar does not say when the ground freezes")
    if freezes is not None:
        last = Edge(freezes.early(season.year), "the ground freezes")
    return SeasonEdges(first, last, notes)


def season_edges(
    method: Method, facts: TimingFacts, site: SeasonCalendar, season_year: int, margins: Margins
) -> SeasonEdges:
    """First and last day by the method's season rule, or why there is none."""
    season = Season(site, season_year, margins)
    if method.season_rule == "dormant season":
        return _dormant(facts, season)
    if method.season_rule == "growing season":
        return _growing(season)
    if method.season_rule in ("ground not frozen", "ground firm"):
        return _unfrozen(season)
    return _whole_year(season)
