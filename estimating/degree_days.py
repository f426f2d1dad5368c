"""Degree days by the low and the high of each day: simple, modified 86/50 and single sine. Advice only.

Temperatures in °C, results in °C days; `fahrenheit_days` turns them into °F days. The thresholds of the modified form,
50 and 86 °F, are 10 and 30 °C exactly.

Source: simple and modified form, extension sheets on corn, such as those of Iowa State University; single sine,
Baskerville & Emin 1969, Ecology 50:514-517, as used by the University of California's degree-day pages.
"""

from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from estimating.columns import FloatArray, refuse_rows
from estimating.errors import InvalidFact
from estimating.weather import DailyWeather

MODIFIED_LOW_C, MODIFIED_HIGH_C = 10.0, 30.0


def fahrenheit_days(degree_days_c: float) -> float:
    """°C days to °F days: × 9/5, without the 32 of temperatures."""
    return degree_days_c * 9.0 / 5.0


def _lows_and_highs(low_c: Any, high_c: Any) -> tuple[FloatArray, FloatArray]:
    """Both as arrays of numbers of one shape, no low above its high."""
    low, high = np.broadcast_arrays(np.asarray(low_c, dtype=float), np.asarray(high_c, dtype=float))
    refuse_rows("low_c", np.atleast_1d(np.isnan(low) | np.isnan(high)), "a low or a high is missing")
    refuse_rows("low_c", np.atleast_1d(low > high), "is above the day's high")
    return low, high


def simple(low_c: Any, high_c: Any, base_c: float) -> FloatArray:
    """max(0, (high + low) / 2 − base), in °C days, elementwise."""
    low, high = _lows_and_highs(low_c, high_c)
    return np.maximum(0.0, (high + low) / 2.0 - base_c)


def modified(low_c: Any, high_c: Any) -> FloatArray:
    """The 86/50 form: low and high are first brought within 10 and 30 °C (50 and 86 °F), then averaged, less 10.

    In °C days, elementwise; from 0 to 20 (36 °F days) a day.
    """
    low, high = _lows_and_highs(low_c, high_c)
    within = [np.clip(ends, MODIFIED_LOW_C, MODIFIED_HIGH_C) for ends in (low, high)]
    return (within[0] + within[1]) / 2.0 - MODIFIED_LOW_C


def _above(low: FloatArray, high: FloatArray, threshold_c: float) -> FloatArray:
    """Area of a sine from low to high above a threshold, over a day.

    With m = (high + low) / 2 and a = (high − low) / 2: 0 where high ≤ T; m − T where low ≥ T; else, with
    θ = asin((T − m) / a), ((m − T)(π/2 − θ) + a cos θ) / π.
    """
    mean, half = (high + low) / 2.0, (high - low) / 2.0
    crosses = (low < threshold_c) & (threshold_c < high)
    ratio = np.divide(threshold_c - mean, half, out=np.zeros_like(mean), where=crosses)
    theta = np.arcsin(np.clip(ratio, -1.0, 1.0))
    crossing = ((mean - threshold_c) * (np.pi / 2.0 - theta) + half * np.cos(theta)) / np.pi
    return np.where(crosses, np.maximum(crossing, 0.0), np.maximum(0.0, mean - threshold_c) * (low >= threshold_c))


def single_sine(low_c: Any, high_c: Any, lower_c: float, upper_c: float | None = None) -> FloatArray:
    """Area of a day's sine above the lower threshold, less that above the upper one (horizontal cut-off).

    In °C days, elementwise.
    """
    low, high = _lows_and_highs(low_c, high_c)
    if upper_c is None:
        return _above(low, high, lower_c)
    if upper_c <= lower_c:
        raise InvalidFact("must be above the lower threshold", "upper_c")
    return _above(low, high, lower_c) - _above(low, high, upper_c)


@dataclass(frozen=True)
class Accumulated:
    """Degree days of the days on record; with days missing it is the least that it can be."""

    degree_days_c: float
    days_counted: int
    missing: tuple[date, ...]


def accumulated(weather: DailyWeather, first: date, last: date) -> Accumulated:
    """Modified (86/50) degree days from a first to a last day, both included, and the days that are missing."""
    if last < first:
        raise InvalidFact("must not be before the first day", "last")
    rows = weather.between(first, last)
    total = float(modified(rows.low_c, rows.high_c).sum())
    return Accumulated(total, len(rows), weather.missing(first, last))
