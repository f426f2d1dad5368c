"""Cells into values: numbers, counts, dates, yes / no / unknown, and the units that a mapping may name."""

import math
import re
from collections.abc import Callable, Mapping
from datetime import date, datetime

from estimating.units import (
    METRES_PER_FOOT,
    MINUTES_PER_HOUR,
    SQUARE_METRES_PER_ACRE,
    SQUARE_METRES_PER_HECTARE,
    SQUARE_METRES_PER_SQUARE_FOOT,
)
from orders.sites.geofiles.records import NO, UNKNOWN, YES, Answer, Cell

NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)
# A day alone, or followed by a time that is left out; the year first, so that nothing is ambiguous.
ISO_DAY = re.compile(r"(\d{4})[-/](\d{1,2})[-/](\d{1,2})(?:[T ].*)?", re.ASCII)
CONTROL_CHARACTER = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
ANSWERS: Mapping[str, Answer] = {
    "yes": YES,
    "y": YES,
    "true": YES,
    "1": YES,
    "no": NO,
    "n": NO,
    "false": NO,
    "0": NO,
    "unknown": UNKNOWN,
    "?": UNKNOWN,
}

Converter = Callable[[float], float]


def _times(factor: float) -> Converter:
    return lambda value: value * factor


def _degrees_of_percent(slope_percent: float) -> float:
    return math.degrees(math.atan(slope_percent / 100))


# By kind of quantity: the units that a mapping may name, and how each becomes ours (the first of each).
UNITS: Mapping[str, Mapping[str, Converter]] = {
    "area": {
        "m2": _times(1),
        "acres": _times(SQUARE_METRES_PER_ACRE),
        "ha": _times(SQUARE_METRES_PER_HECTARE),
        "ft2": _times(SQUARE_METRES_PER_SQUARE_FOOT),
    },
    "length": {"m": _times(1), "ft": _times(METRES_PER_FOOT)},
    "angle": {"deg": _times(1), "percent": _degrees_of_percent},
    "minutes": {"minutes": _times(1), "hours": _times(MINUTES_PER_HOUR)},
    "percent": {"percent": _times(1), "fraction": _times(100)},
}


def text_of(cell: Cell) -> str:
    """A cell as a person would write it: numbers without a needless .0, truth as yes or no, blanks as nothing."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return YES if cell else NO
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()


def parse_number(text: str) -> float:
    """A plain decimal number. Commas are refused, since 1,250 is read two ways."""
    if not NUMBER.fullmatch(text):
        hint = " (write it without commas, such as 1250.5)" if "," in text else ""
        raise ValueError(f"“{text}” is not a number{hint}")
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"“{text}” is too large a number")
    return value


def parse_count(text: str) -> int:
    """A whole number, not negative."""
    value = parse_number(text)
    if value < 0 or not value.is_integer():
        raise ValueError(f"“{text}” is not a whole number of 0 or more")
    return int(value)


def parse_percent(text: str) -> float:
    """A number that may carry its percent sign."""
    return parse_number(text.removesuffix("%").strip())


def parse_answer(text: str) -> Answer:
    """Yes, no or unknown, in the few ways people write them."""
    if text.casefold() not in ANSWERS:
        raise ValueError(f"“{text}” is not yes, no or unknown")
    return ANSWERS[text.casefold()]


def parse_day(text: str, day_format: str | None) -> date:
    """Year-month-day, unless the mapping names another format (in the terms of strptime)."""
    if day_format is not None:
        return _parse_formatted_day(text, day_format)
    found = ISO_DAY.fullmatch(text)
    if found is None:
        raise ValueError(f'“{text}” is not a date as 2026-05-31; the mapping may name another "format"')
    try:
        return date(int(found[1]), int(found[2]), int(found[3]))
    except ValueError as impossible:
        raise ValueError(f"“{text}” is not a day of the calendar") from impossible


def _parse_formatted_day(text: str, day_format: str) -> date:
    try:
        return datetime.strptime(text, day_format).date()  # noqa: DTZ007 (a day on the calendar has no time zone)
    except ValueError as unreadable:
        raise ValueError(f"“{text}” is not a date in the format {day_format}") from unreadable
