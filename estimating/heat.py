"""How hot it feels, and what is done about it. Advice for a briefing: a person in charge decides, and anybody may stop.

    heat index (°F, T °F, R %) = 0.5 (T + 61 + 1.2 (T - 68) + 0.094 R)               where that is below 80
        = -42.379 + 2.04901523 T + 10.14333127 R - 0.22475541 T R - 0.00683783 T² - 0.05481717 R²
          + 0.00122874 T² R + 0.00085282 T R² - 0.00000199 T² R²                     else
        - (13 - R)/4 sqrt((17 - |T - 95|)/17)         where R < 13 and 80 <= T <= 112
        + (R - 85)/10 (87 - T)/5                      where R > 85 and 80 <= T <= 87

Source: National Weather Service, heat index equation (Rothfusz, SR 90-23). Its values are of shade; full sun adds up to
15 °F (OSHA, "Using the Heat Index").
"""

import math
from dataclasses import dataclass

from estimating.errors import InvalidFact
from estimating.scalars import percent
from estimating.units import celsius, fahrenheit

SIMPLE_BELOW_F = 80.0
FULL_SUN_F = 15.0
# The first degree of each band. 91, 103 and 115: OSHA, "Using the Heat Index"; where bands share an edge it counts to
# the higher one. 80: initial trigger of OSHA's proposed rule of August 30, 2024, which is not final.
BANDS = (("none", -math.inf), ("lower", 80.0), ("moderate", 91.0), ("high", 103.0), ("very_high", 115.0))
# What is done from each band on. Water and shade, and 15 minutes of rest every two hours with a second person watching
# from 90 °F: OSHA's proposed rule; water by the hour: the same and "Using the Heat Index"; another day: the latter.
ACTIONS = {
    "none": (),
    "lower": ("water_quart_an_hour", "shade", "breaks_as_needed"),
    "moderate": ("water_quart_an_hour", "shade", "rest_15_every_2_hours", "watch_each_other", "ease_in_new_people"),
    "high": (
        "water_quart_an_hour",
        "shade",
        "rest_15_every_2_hours",
        "watch_each_other",
        "ease_in_new_people",
        "heavy_work_early",
        "know_the_signs",
    ),
    "very_high": ("another_day", "watch_each_other", "know_the_signs"),
}


def heat_index_f(air_temperature_f: float, relative_humidity_percent: float) -> float:
    """The published formula, in shade. Errors: `InvalidFact` where the reading is none."""
    if not math.isfinite(air_temperature_f):
        raise InvalidFact("must be a number", "air_temperature_f")
    t, r = air_temperature_f, percent("relative_humidity_percent", relative_humidity_percent)
    simple = 0.5 * (t + 61.0 + 1.2 * (t - 68.0) + 0.094 * r)
    if simple < SIMPLE_BELOW_F:
        return simple
    full = (
        -42.379
        + 2.04901523 * t
        + 10.14333127 * r
        - 0.22475541 * t * r
        - 0.00683783 * t * t
        - 0.05481717 * r * r
        + 0.00122874 * t * t * r
        + 0.00085282 * t * r * r
        - 0.00000199 * t * t * r * r
    )
    return full + _adjustment_f(t, r)


def _adjustment_f(t: float, r: float) -> float:
    if r < 13 and 80 <= t <= 112:
        return -(13 - r) / 4 * math.sqrt((17 - abs(t - 95)) / 17)
    if r > 85 and 80 <= t <= 87:
        return (r - 85) / 10 * (87 - t) / 5
    return 0.0


@dataclass(frozen=True)
class HeatRisk:
    """`heat_index_c` is of shade, `felt_c` with the sun; `band` with what the work and its clothing add; `actions` are
    codes that each screen says in its own words."""

    heat_index_c: float
    felt_c: float
    band: str
    actions: tuple[str, ...]


def heat_risk(
    air_temperature_c: float,
    relative_humidity_percent: float,
    *,
    full_sun: bool = False,
    strenuous: bool = False,
) -> HeatRisk:
    """The band of a day. `strenuous`: heavy work, or protective clothing that holds heat; it counts as the next band
    (OSHA, "Using the Heat Index"), except where it is not hot at all (our own)."""
    index_f = heat_index_f(fahrenheit(air_temperature_c), relative_humidity_percent)
    felt_f = index_f + (FULL_SUN_F if full_sun else 0.0)
    names = [name for name, _ in BANDS]
    # Degrees Celsius turned to Fahrenheit and back must not fall under an edge by rounding alone.
    place = max(number for number, (_, from_f) in enumerate(BANDS) if round(felt_f, 9) >= from_f)
    if strenuous and place:
        place = min(place + 1, len(names) - 1)
    return HeatRisk(celsius(index_f), celsius(felt_f), names[place], ACTIONS[names[place]])
