"""A site's year: the days on which its seasons turn, by its own records, and the days kept clear of them.

A season year is named by the year its growing season lies in; its dormant season begins that autumn and ends in the
next calendar year. Spring events are recorded under the calendar year of their spring.
"""

import calendar
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean, stdev

from estimating.errors import InvalidFact

COMMON_YEAR = 2001  # any year that is no leap year: month and day are counted in it
DAYS_IN_COMMON_YEAR = 365


@dataclass(frozen=True, kw_only=True)
class CalendarDay:
    """A day of the year: the mean over the years on record, and their standard deviation in days.

    `year_offset`: calendar years after the season year in which the mean day lies, such as 1 for a leaf-off in January.
    `years` on record; None: a figure that was given, not counted.
    """

    month: int
    day: int
    spread_days: float = 0.0
    source: str = "the site's calendar"
    years: int | None = None
    year_offset: int = 0

    def __post_init__(self) -> None:
        if not 1 <= self.month <= 12 or not 1 <= self.day <= calendar.monthrange(COMMON_YEAR, self.month)[1]:
            raise InvalidFact(f"{self.month}-{self.day} is no day of an ordinary year", "month")
        if self.spread_days < 0:
            raise InvalidFact("must be 0 or more", "spread_days")
        if self.years is not None and self.years < 1:
            raise InvalidFact("must be 1 or more, or left out", "years")

    def on(self, year: int) -> date:
        """The mean day of a season year."""
        return date(year + self.year_offset, self.month, self.day)

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
    flowering_first: CalendarDay | None = None
    flowering_last: CalendarDay | None = None
    fruiting_first: CalendarDay | None = None
    fruiting_last: CalendarDay | None = None
    hard_freeze: CalendarDay | None = None
    ground_freezes: CalendarDay | None = None
    ground_thaws: CalendarDay | None = None


@dataclass(frozen=True, kw_only=True)
class Margins:
    """Days kept clear of what the calendar says, and what counts as known; from memory, for the program to set.

    `least_years` on record before a window may rest on them; `mild_spell_days` in a row that make a mild spell.
    """

    after_leaf_off_days: int = 7
    before_ephemerals_days: int = 7
    before_leaf_out_days: int = 7
    before_fruit_days: int = 14
    shortest_window_days: int = 1
    least_years: int = 3
    mild_spell_days: int = 2


def _day_number(season_year: int, on: date) -> int:
    """Days since January 1 of the season year, leap days left out, so that years compare by month and day."""
    day = on.day if (on.month, on.day) != (2, 29) else 28
    same_day = date(COMMON_YEAR, on.month, day)
    return (same_day - date(COMMON_YEAR, 1, 1)).days + DAYS_IN_COMMON_YEAR * (on.year - season_year)


def calendar_from_years(records: Mapping[int, date], source: str = "the site's calendar") -> CalendarDay:
    """The mean day of an event and the sample standard deviation in days, from one date a season year.

    A date may lie in the calendar year after its season. One year alone has a spread of 0 and says so by its count.
    """
    if not records:
        raise InvalidFact("no year is on record", "records")
    numbers = [_day_number(year, on) for year, on in records.items()]
    offset, number = divmod(round(fmean(numbers)), DAYS_IN_COMMON_YEAR)
    middle = date(COMMON_YEAR, 1, 1) + timedelta(days=number)
    return CalendarDay(
        month=middle.month,
        day=middle.day,
        spread_days=stdev(numbers) if len(numbers) > 1 else 0.0,
        source=source,
        years=len(numbers),
        year_offset=offset,
    )


def years_short(day: CalendarDay, margins: Margins) -> str:
    """What is to be said of a record of too few years; empty where it has enough or is a given figure."""
    if day.years is None or day.years >= margins.least_years:
        return ""
    return f"only {day.years} year{'' if day.years == 1 else 's'} on record, {margins.least_years} are needed"
