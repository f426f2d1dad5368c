"""When leaves fall, by one model of cold and short days. Advice only, beside the site's own mean.

Such models are less accurate than the mean of dates seen at the place (Geoscientific Model Development 18:6963, 2025),
so that no window rests on this one. Structure: Delpierre et al. 2009, Agricultural and Forest Meteorology 149:938-948.
The parameters were seen in others' code for deciduous trees in general, not in the paper.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np

from estimating.columns import FloatArray
from estimating.day_length import day_length_hours
from estimating.errors import InvalidFact
from estimating.weather import DailyWeather

MIDSUMMER = (7, 2)  # day 183 of an ordinary year


@dataclass(frozen=True, kw_only=True)
class LeafFallModel:
    """Day length and temperature below which a day counts, the powers of both, and the sum at which leaves fall.

    `by_shortfall`: light counts as 1 − P/Pstart; otherwise as P/Pstart.
    """

    start_hours: float = 14.5
    base_c: float = 28.5
    cold_power: float = 2.0
    light_power: float = 2.0
    sum_at_fall: float = 8268.0
    by_shortfall: bool = False

    def day_sums(self, mean_c: FloatArray, light_hours: FloatArray) -> FloatArray:
        """(Tb − T)^x f^y on each day with day length P < Pstart and mean temperature T < Tb; 0 on others."""
        share = light_hours / self.start_hours
        light = 1.0 - share if self.by_shortfall else share
        counts = (light_hours < self.start_hours) & (mean_c < self.base_c)
        cold = np.maximum(self.base_c - mean_c, 0.0) ** self.cold_power
        return np.where(counts, cold * np.maximum(light, 0.0) ** self.light_power, 0.0)


@dataclass(frozen=True)
class LeafFall:
    """The model's day, None where it is not reached on the days on record, and the days missing up to there.

    `known_to`: the last day on record that was looked at; None where the half year has none.
    """

    day: date | None
    known_to: date | None
    missing: tuple[date, ...]


def leaf_fall(weather: DailyWeather, latitude_deg: float, year: int, model: LeafFallModel | None = None) -> LeafFall:
    """The first day of a year, from midsummer to its end, on which the model's sum is reached.

    Mean temperature of a day = (low + high) / 2. Days that are missing add nothing; a sum that is not reached has no
    date. Colder days never make it later. North of the equator.
    """
    if latitude_deg < 0:
        raise InvalidFact("the model is for places north of the equator", "latitude_deg")
    model = model or LeafFallModel()
    first = date(year, *MIDSUMMER)
    rows = weather.between(first, date(year, 12, 31))
    days = [date.fromisoformat(day) for day in rows.ids]
    if not days:
        return LeafFall(None, None, ())
    light_hours = day_length_hours(latitude_deg, [day.timetuple().tm_yday for day in days])
    sums = model.day_sums((rows.low_c + rows.high_c) / 2.0, light_hours)
    reached = np.flatnonzero(np.cumsum(sums) >= model.sum_at_fall)
    known_to = days[reached[0]] if reached.size else days[-1]
    return LeafFall(known_to if reached.size else None, known_to, weather.missing(first, known_to))
