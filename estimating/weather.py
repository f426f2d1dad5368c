"""Daily lows and highs of a place. A day that is missing is told, never filled in."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

import numpy as np
import numpy.typing as npt

from estimating.columns import FloatArray, Table, column, refuse_rows

DayArray = npt.NDArray[np.datetime64]

# Outside these no air temperature near the ground was ever recorded on Earth (from memory, rounded outwards).
COLDEST_C, HOTTEST_C = -95.0, 60.0


@dataclass(frozen=True, kw_only=True)
class DailyWeather(Table):
    """Lows and highs in °C of days in order; `ids` are the days as ISO dates. Days may be missing between them."""

    low_c: FloatArray = column(low=COLDEST_C, high=HOTTEST_C)
    high_c: FloatArray = column(low=COLDEST_C, high=HOTTEST_C)

    def check(self) -> None:
        """Days follow one another, and no low is above its high."""
        after = np.zeros(len(self), dtype=bool)
        after[1:] = self.days[1:] <= self.days[:-1]
        refuse_rows("day", after, "must be after the day before it")
        refuse_rows("low_c", self.low_c > self.high_c, "is above the day's high")

    @cached_property
    def days(self) -> DayArray:
        """The days, ascending."""
        return np.array(self.ids, dtype="datetime64[D]")

    def between(self, first: date, last: date) -> "DailyWeather":
        """The rows from a first to a last day, both included."""
        inside = (self.days >= np.datetime64(first)) & (self.days <= np.datetime64(last))
        rows = np.flatnonzero(inside)
        ids = tuple(self.ids[row] for row in rows)
        return DailyWeather(ids=ids, low_c=self.low_c[rows], high_c=self.high_c[rows])

    def missing(self, first: date, last: date) -> tuple[date, ...]:
        """Days from a first to a last one, both included, that have no row."""
        have = set(self.ids)
        every = (first + timedelta(days=number) for number in range((last - first).days + 1))
        return tuple(day for day in every if day.isoformat() not in have)


def daily_weather(rows: Iterable[tuple[date, float, float]]) -> DailyWeather:
    """The table from (day, low in °C, high in °C) in any order; errors name the row in the order of days."""
    ordered = sorted(rows)
    return DailyWeather(
        ids=tuple(day.isoformat() for day, _, _ in ordered),
        low_c=np.array([low_c for _, low_c, _ in ordered], dtype=float),
        high_c=np.array([high_c for _, _, high_c in ordered], dtype=float),
    )
