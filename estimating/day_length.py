"""Day length by latitude and day of the year (CBM). Advice only: it is up to 6 minutes off in spring and fall.

Source: Forsythe, Rykiel, Stahl, Wu & Schoolfield 1995, A model comparison for daylength as a function of latitude and
day of year, Ecological Modelling 80:87-95.
"""

from datetime import date, timedelta
from typing import Any

import numpy as np

from estimating.columns import FloatArray
from estimating.errors import InvalidFact

# How far the sun's center is below the level horizon at sunrise and sunset, in degrees.
CENTER_LEVEL_DEG = 0.0
TOP_LEVEL_DEG = 0.26667
TOP_AND_REFRACTION_DEG = 0.8333
CIVIL_TWILIGHT_DEG = 6.0

LONGEST_DAY = {"north": (6, 21), "south": (12, 21)}
HALF_A_YEAR_DAYS = 183


def day_length_hours(
    latitude_deg: float, day_of_year: Any, sun_below_deg: float = TOP_AND_REFRACTION_DEG
) -> FloatArray:
    """Hours from sunrise to sunset; `day_of_year` from 1, a number or an array.

    θ = 0.2163108 + 2 atan(0.9671396 tan(0.00860 (J − 186))), φ = asin(0.39795 cos θ),
    D = 24 − 24/π acos((sin p + sin L sin φ) / (cos L cos φ)), the fraction kept within −1 and 1.
    """
    if not -90.0 < latitude_deg < 90.0:
        raise InvalidFact("must lie between the poles, above -90 and below 90", "latitude_deg")
    days = np.asarray(day_of_year, dtype=float)
    if ((days < 1) | (days > 366)).any():
        raise InvalidFact("must be from 1 to 366", "day_of_year")
    theta = 0.2163108 + 2.0 * np.arctan(0.9671396 * np.tan(0.00860 * (days - 186.0)))
    sun = np.arcsin(0.39795 * np.cos(theta))
    latitude, below = np.radians(latitude_deg), np.radians(sun_below_deg)
    share = (np.sin(below) + np.sin(latitude) * np.sin(sun)) / (np.cos(latitude) * np.cos(sun))
    hours: FloatArray = 24.0 - 24.0 / np.pi * np.arccos(np.clip(share, -1.0, 1.0))
    return hours


def day_length_on(latitude_deg: float, day: date) -> float:
    """Hours from sunrise to sunset on a day."""
    return float(day_length_hours(latitude_deg, day.timetuple().tm_yday))


def first_day_below(latitude_deg: float, hours: float, year: int) -> date | None:
    """The first day after the longest one of a year that is shorter than so many hours.

    None where no day of the half year is, or where the longest day itself already was. South of the equator the longest
    day is in December, and the day found may lie in the next year.
    """
    longest = date(year, *LONGEST_DAY["north" if latitude_deg >= 0 else "south"])
    if day_length_on(latitude_deg, longest) < hours:
        return None
    days = (longest + timedelta(days=number) for number in range(1, HALF_A_YEAR_DAYS + 1))
    return next((day for day in days if day_length_on(latitude_deg, day) < hours), None)
