"""The chance of a first fall freeze by a day, from a place's own daily lows. Advice only.

A cold season runs from August 1 to July 31. Chance by a day = share of seasons that freeze at all × share of those that
froze on or before it, as in the freeze normals of NOAA's National Centers for Environmental Information (CLIM20-01): a
date of a chance that no season reaches does not exist. Seasons without a freeze count.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from estimating.errors import EstimatingError, InvalidFact
from estimating.weather import DailyWeather

FREEZE_C = 0.0
LEAST_SEASONS = 20
FIRST_MONTH = 8


class NotEnoughSeasons(EstimatingError):
    """A chance that too few seasons on record can tell."""

    code = "not-enough-seasons"


@dataclass(frozen=True)
class FirstFreezes:
    """The first freeze of each season on record, as days since August 1; None where a season had none.

    `least_seasons` on record below which no chance is told.
    """

    days: tuple[int | None, ...]
    least_seasons: int = LEAST_SEASONS

    @property
    def enough(self) -> bool:
        """Are there seasons enough to tell a chance?"""
        return len(self.days) >= max(self.least_seasons, 1)

    def chance_by(self, day: int) -> float:
        """Share of seasons that froze on or before a day, counted as `days` are."""
        self._check()
        return sum(froze is not None and froze <= day for froze in self.days) / len(self.days)

    def chance_ever(self) -> float:
        """Share of seasons that froze at all."""
        self._check()
        return sum(froze is not None for froze in self.days) / len(self.days)

    def day_of(self, chance: float) -> int | None:
        """The earliest day by which so large a share of seasons froze; None where no day is."""
        if not 0.0 < chance <= 1.0:
            raise InvalidFact("must be above 0 and at most 1", "chance")
        self._check()
        needed = math.ceil(chance * len(self.days) - 1e-9)
        froze = sorted(day for day in self.days if day is not None)
        return froze[needed - 1] if needed <= len(froze) else None

    def date_of(self, chance: float, year: int) -> date | None:
        """The same as a date of the season that begins in August of a year."""
        day = self.day_of(chance)
        return None if day is None else date(year, FIRST_MONTH, 1) + timedelta(days=day)

    def _check(self) -> None:
        if not self.enough:
            found = f"only {len(self.days)} seasons on record, {max(self.least_seasons, 1)} are needed"
            raise NotEnoughSeasons(found, "days")


def _first_freeze(rows: DailyWeather, first: date, freeze_c: float) -> int | None:
    return next(
        (
            (date.fromisoformat(day) - first).days
            for day, low_c in zip(rows.ids, rows.low_c, strict=True)
            if low_c <= freeze_c
        ),
        None,
    )


def _seasons(weather: DailyWeather, freeze_c: float) -> Iterator[int | None]:
    """The first freeze of each season that is over and whose days are all there, up to the freeze if it had one."""
    if not weather.ids:
        return
    known_to = date.fromisoformat(weather.ids[-1])
    for year in range(date.fromisoformat(weather.ids[0]).year, known_to.year):
        first, last = date(year, FIRST_MONTH, 1), date(year + 1, FIRST_MONTH, 1) - timedelta(days=1)
        if last > known_to:
            return
        day = _first_freeze(weather.between(first, last), first, freeze_c)
        looked_at = last if day is None else first + timedelta(days=day)
        if not weather.missing(first, looked_at):
            yield day


def first_freezes(
    weather: DailyWeather, freeze_c: float = FREEZE_C, least_seasons: int = LEAST_SEASONS
) -> FirstFreezes:
    """First freezes, a low at or below `freeze_c`, of the seasons that the record is whole enough to tell."""
    return FirstFreezes(tuple(_seasons(weather, freeze_c)), least_seasons)
