"""How cold it feels in wind, and what is done about it. Advice for a briefing: a person in charge decides.

    wind chill (°F, T °F, V mph) = 35.74 + 0.6215 T - 35.75 V^0.16 + 0.4275 T V^0.16    T <= 50 and V >= 3, else T

Source: National Weather Service, wind chill of 2001.
"""

import math
from dataclasses import dataclass

from estimating.errors import InvalidFact
from estimating.scalars import not_negative
from estimating.units import celsius, fahrenheit, miles_an_hour

HIGHEST_F, LEAST_MPH = 50.0, 3.0
# The first degree below which a band begins. -18: frostbite within 30 minutes (National Weather Service); 40, 0: ours.
BANDS = (("none", math.inf), ("cold", 40.0), ("very_cold", 0.0), ("frostbite", -18.0))
# Common practice.
ACTIONS = {
    "none": (),
    "cold": ("stay_dry", "warm_breaks", "watch_each_other"),
    "very_cold": ("stay_dry", "cover_skin", "warm_breaks", "watch_each_other"),
    "frostbite": ("another_day", "cover_skin", "watch_each_other"),
}


def wind_chill_f(air_temperature_f: float, wind_mph: float) -> float:
    """The published formula. Errors: `InvalidFact` where a reading is none."""
    if not math.isfinite(air_temperature_f):
        raise InvalidFact("must be a number", "air_temperature_f")
    t, v = air_temperature_f, not_negative("wind_mph", wind_mph)
    if t > HIGHEST_F or v < LEAST_MPH:
        return t
    slowed = math.pow(v, 0.16)
    return 35.74 + 0.6215 * t - 35.75 * slowed + 0.4275 * t * slowed


@dataclass(frozen=True)
class ColdRisk:
    """`actions` are codes that each screen says in its own words."""

    wind_chill_c: float
    band: str
    actions: tuple[str, ...]


def cold_risk(air_temperature_c: float, wind_m_s: float) -> ColdRisk:
    """The band of a day; an edge counts to the colder one."""
    felt_f = wind_chill_f(fahrenheit(air_temperature_c), miles_an_hour(wind_m_s))
    # Degrees Celsius turned to Fahrenheit and back must not rise above an edge by rounding alone.
    band = [name for name, from_f in BANDS if round(felt_f, 9) <= from_f][-1]
    return ColdRisk(celsius(felt_f), band, ACTIONS[band])
