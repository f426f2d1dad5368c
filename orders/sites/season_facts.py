"""Rows of a site's year and a species' year as estimating's figures."""

from calendar import monthrange
from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from estimating.closures import Closure as ClosedDays
from estimating.season_calendar import CalendarDay, SeasonCalendar
from orders.sites.models import Closure, Species
from orders.sites.selectors import CalendarMean

# Name of a figure of the season's calendar -> kind of record. The first fall frost is told on pages and opens nothing.
CALENDAR_KINDS = {
    "leaf_off": "leaf_off",
    "leaf_out": "leaf_out",
    "ephemerals_emerge": "ephemerals",
    "hard_freeze": "hard_freeze",
    "ground_freezes": "ground_freezes",
    "ground_thaws": "ground_thaws",
}
# Name of a figure -> name of the species' columns, and the column of its source.
SPECIES_DAYS = {
    "flowering_first": ("flower_first", "flower_source"),
    "flowering_last": ("flower_last", "flower_source"),
    "fruiting_first": ("fruit_first", "phenology_source"),
    "fruiting_last": ("fruit_last", "phenology_source"),
}


def season_calendar(records: Mapping[str, CalendarMean]) -> SeasonCalendar:
    """The site's own records."""
    known = {name: records[kind].figure for name, kind in CALENDAR_KINDS.items() if kind in records}
    return SeasonCalendar(**known)


def species_calendar(species: Species) -> SeasonCalendar:
    """When a species flowers and fruits."""
    told = {name: _day(species, columns, source) for name, (columns, source) in SPECIES_DAYS.items()}
    return SeasonCalendar(**told)


def holds_leaves_until(species: Iterable[Species]) -> CalendarDay | None:
    """When the last of them drops its leaves, of those that hold them after natives have dropped theirs."""
    days = [day for row in species if (day := _day(row, "leaf_drop", "leaf_drop_source")) is not None]
    return max(days, key=lambda day: (day.month, day.day), default=None)


def _day(species: Species, columns: str, source: str) -> CalendarDay | None:
    month, day = getattr(species, f"{columns}_month"), getattr(species, f"{columns}_day")
    if month is None or day is None:
        return None
    in_every_year = 28 if (month, day) == (2, 29) else day
    return CalendarDay(month=month, day=in_every_year, source=getattr(species, source))


def closed_days(row: Closure, first: date, last: date) -> Iterator[ClosedDays]:
    """The days of a closure that touch a span; what comes yearly, in each year from its first on."""
    later = range(last.year - row.first_day.year + 1) if row.repeats_yearly else range(1)
    for years in later:
        days = ClosedDays(
            in_year(row.first_day, row.first_day.year + years),
            in_year(row.last_day, row.last_day.year + years),
            row.why,
            row.kind,
            frozenset(row.methods) or None,
        )
        if days.first <= last and days.last >= first:
            yield days


def in_year(day: date, year: int) -> date:
    """The same day of another year; February 29 is the 28th of an ordinary year."""
    return day.replace(year=year, day=min(day.day, monthrange(year, day.month)[1]))
