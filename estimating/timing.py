"""When a method may be used on a patch: windows of dates, with why each opens and closes, and the seed deadline.

Windows that cross the new year are ordinary. All dates are arguments or figures of the site's own calendar; margins are
the program's. A window never says that a day is safe or lawful: the label, local rules and a licensed person decide.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from estimating.closures import Closure, LabelInterval, less_closures, less_labels
from estimating.columns import Known
from estimating.errors import InvalidFact
from estimating.methods import Method
from estimating.season_calendar import CalendarDay, Margins, SeasonCalendar, calendar_from_years
from estimating.seeds import SeedDeadline, SeedFacts, carries_deadline, season_of, seed_deadline
from estimating.units import fahrenheit
from estimating.window_edges import TimingFacts, season_edges
from estimating.window_spans import Window, clipped, merged

__all__ = [
    "CalendarDay",
    "Closure",
    "LabelInterval",
    "Margins",
    "SeasonCalendar",
    "SeedDeadline",
    "SeedFacts",
    "TempRange",
    "TimingFacts",
    "Window",
    "WindowReport",
    "calendar_from_years",
    "carries_deadline",
    "day_conditions",
    "open_report",
    "season_of",
    "seed_deadline",
    "window_report",
    "windows",
]

# Lowest and highest air temperature, °C; None: no limit.
TempRange = tuple[float | None, float | None]


@dataclass(frozen=True)
class WindowReport:
    """The open windows in order, notes where there are none or a fact is missing, and conditions of the day itself."""

    windows: tuple[Window, ...]
    notes: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Asked:
    """What a report is asked for."""

    method: Method
    facts: TimingFacts
    site: SeasonCalendar
    margins: Margins
    closures: Sequence[Closure]
    labels: Sequence[LabelInterval]
    label_temps_c: TempRange

    def season_windows(self, years: Iterable[int]) -> tuple[list[Window], list[str]]:
        """One window a season year where there is one, those that touch made one, and notes."""
        found: list[Window] = []
        notes: list[str] = []
        for year in years:
            edges = season_edges(self.method, self.facts, self.site, year, self.margins)
            notes += edges.notes
            if edges.opens is None or edges.closes is None:
                continue
            if edges.closes.day < edges.opens.day:
                closes, opens = edges.closes.because, edges.opens.because
                notes.append(f"The window would close ({closes}) before it opens ({opens}).")
                continue
            found.append(Window(edges.opens.day, edges.closes.day, edges.opens.because, edges.closes.because))
        return merged(found), notes

    def report(self, found: list[Window], notes: list[str]) -> WindowReport:
        """The season's windows less closures, less what labels forbid; a note where none is left."""
        lowest_c, highest_c = temps_c(self.method, self.label_temps_c)
        if highest_c is not None and highest_c < lowest_c:
            found, notes = (
                [],
                [*notes, f"The label stops at {_temperature(highest_c)}, {_temperature(lowest_c)} is needed."],
            )
        if not found:
            return WindowReport((), tuple(dict.fromkeys(notes)))
        unclosed = self._long_enough(less_closures(found, self.method.code, self.closures))
        allowed = self._long_enough(less_labels(unclosed, self.labels))
        notes = [*notes, *self._left_none(unclosed, allowed), *self._leaves_unknown()]
        conditions = day_conditions(self.method, self.margins, self.label_temps_c)
        return WindowReport(tuple(allowed), tuple(dict.fromkeys(notes)), conditions)

    def _long_enough(self, found: Iterable[Window]) -> list[Window]:
        return [window for window in found if window.days >= self.margins.shortest_window_days]

    def _left_none(self, unclosed: list[Window], allowed: list[Window]) -> list[str]:
        if not unclosed:
            return ["Closures leave no window open."]
        return [] if allowed else ["The label's interval, or its uses a year, leave no window open."]

    def _leaves_unknown(self) -> list[str]:
        known = self.facts.evergreen != Known.UNKNOWN or self.facts.holds_leaves_until is not None
        if known or self.method.season_rule != "dormant season":
            return []
        return ["unknown: survey first. The survey does not say if the plant keeps its leaves."]


def window_report(
    method: Method,
    facts: TimingFacts,
    site: SeasonCalendar,
    season_year: int,
    closures: Sequence[Closure] = (),
    margins: Margins | None = None,
    *,
    labels: Sequence[LabelInterval] = (),
    label_temps_c: TempRange = (None, None),
) -> WindowReport:
    """Open windows of a method on a patch in a season year, less closures and what labels forbid.

    A note where none is left, and where the records are of too few years. `label_temps_c`: the label's
    lowest and highest air temperature; where they leave no day to the method, no window is open.
    """
    asked = _Asked(method, facts, site, margins or Margins(), closures, labels, label_temps_c)
    return asked.report(*asked.season_windows([season_year]))


def open_report(
    method: Method,
    facts: TimingFacts,
    site: SeasonCalendar,
    first: date,
    last: date,
    closures: Sequence[Closure] = (),
    margins: Margins | None = None,
    *,
    labels: Sequence[LabelInterval] = (),
    label_temps_c: TempRange = (None, None),
) -> WindowReport:
    """The same from a first to a last day, over all season years that reach into them.

    Windows of two season years that touch are one. An end that the first or the last day cuts off keeps its reason.
    """
    if last < first:
        raise InvalidFact("must not be before the first day", "last")
    asked = _Asked(method, facts, site, margins or Margins(), closures, labels, label_temps_c)
    found, notes = asked.season_windows(range(first.year - 1, last.year + 1))
    within = clipped(found, first, last)
    outside = ["No window lies within these days."] if found and not within else []
    return asked.report(within, [*notes, *outside])


def temps_c(method: Method, label_temps_c: TempRange) -> tuple[float, float | None]:
    """Lowest and highest air temperature that both the method and the label allow."""
    lowest_c, highest_c = label_temps_c
    return method.lowest_temp_c if lowest_c is None else max(lowest_c, method.lowest_temp_c), highest_c


def day_conditions(
    method: Method, margins: Margins | None = None, label_temps_c: TempRange = (None, None)
) -> tuple[str, ...]:
    """What a day inside the window must be like, by the method and the label's lowest and highest temperature."""
    lowest_c, highest_c = temps_c(method, label_temps_c)
    coldest = _temperature(lowest_c)
    by_label = "" if lowest_c == method.lowest_temp_c else ", by the label"
    found = [f"At {coldest} or above{by_label}."]
    if method.season_rule == "dormant season":
        days = (margins or Margins()).mild_spell_days
        found.append(
            f"In a mild spell, {days} days or more at {coldest} or above, on dry leaves that are free of litter."
        )
    if method.season_rule == "bark dry":
        found.append("On dry bark.")
    if highest_c is not None:
        found.append(f"At {_temperature(highest_c)} or below, by the label.")
    return tuple(found)


def _temperature(temperature_c: float) -> str:
    return f"{fahrenheit(temperature_c):.0f} °F ({temperature_c:g} °C)"


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
