"""Cells into values: numbers, counts, dates, yes / no / unknown, and the units that a mapping may name."""

import math
import re
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

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
# A class of cover as surveys write it into one cell: 25 - 50 %, 25 to 50, <5%.
PERCENTS = re.compile(r"(?P<low>\d+\.?\d*)\s*%?\s*(?:-|–|to)\s*(?P<high>\d+\.?\d*)\s*%?", re.ASCII)
BELOW = re.compile(r"[<≤]\s*(?P<high>\d+\.?\d*)\s*%?", re.ASCII)
ISO_DAY = re.compile(r"(\d{4})[-/](\d{1,2})[-/](\d{1,2})(?:[T ].*)?", re.ASCII)
# A moment of that day with its offset from UTC, in hours and minutes.
OFFSET_TIME = re.compile(
    r"[-/\d]+[T ]\s*(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2})(?:[.,]\d+)?)?\s*"
    r"(?:(?P<zulu>Z|UTC|GMT)|(?P<sign>[+-])(?P<hours>\d{2})(?::?(?P<minutes>\d{2}))?)",
    re.ASCII | re.IGNORECASE,
)
# A format of days beside those of strptime: a moment in UTC, as databases of map programs keep it.
MILLISECONDS = "milliseconds"
MOMENT = re.compile(r"\d{12,13}", re.ASCII)
COMMA_NUMBER = re.compile(r"[+-]?\d+(?:,\d+)?", re.ASCII)
# Read two ways: 1,250 is a thousand or little more than one.
TWO_WAYS = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}", re.ASCII)
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


def with_point(text: str) -> str:
    """A number with a comma for its decimal point, as `parse_number` reads it; 1.250,5 stays as it is."""
    return text if "." in text else text.replace(",", ".")


def are_comma_numbers(texts: Iterable[str]) -> bool:
    """Whether all are numbers if a comma in them is a decimal point, and one at least has such a comma."""
    listed = list(texts)
    return all(COMMA_NUMBER.fullmatch(text) for text in listed) and any("," in text for text in listed)


def have_points(columns: Iterable[Iterable[str]]) -> bool:
    """Whether any of a table's numbers has a decimal point."""
    return any("." in text and NUMBER.fullmatch(text) for texts in columns for text in texts)


def write_decimal_commas(columns: Iterable[Iterable[str]]) -> bool:
    """Whether a table's numbers have a comma for their decimal point: one at least can be read in no other way, and
    none has a point."""
    listed = [list(texts) for texts in columns]
    if have_points(listed):
        return False
    return any(are_comma_numbers(texts) and not all(map(_is_read_two_ways, texts)) for texts in listed)


def _is_read_two_ways(text: str) -> bool:
    return "," not in text or TWO_WAYS.fullmatch(text) is not None


def parse_count(text: str) -> int:
    """A whole number, not negative."""
    value = parse_number(text)
    if value < 0 or not value.is_integer():
        raise ValueError(f"“{text}” is not a whole number of 0 or more")
    return int(value)


def parse_percent(text: str) -> float:
    """A number that may carry its percent sign; of a range, its middle."""
    found = PERCENTS.fullmatch(text) or BELOW.fullmatch(text)
    if found is None:
        return parse_number(text.removesuffix("%").strip())
    low, high = float(found.groupdict().get("low") or 0), float(found["high"])
    if low > high:
        raise ValueError(f"“{text}” is a range that ends below its beginning")
    return (low + high) / 2


def reads_as_percent(text: str) -> bool:
    try:
        parse_percent(text)
    except ValueError:
        return False
    return True


def parse_answer(text: str) -> Answer:
    """Yes, no or unknown, in the few ways people write them."""
    if text.casefold() not in ANSWERS:
        raise ValueError(f"“{text}” is not yes, no or unknown")
    return ANSWERS[text.casefold()]


def parse_day(text: str, day_format: str | None, zone: ZoneInfo | None = None) -> date:
    """Year-month-day, unless the mapping names another format (in the terms of strptime, or `milliseconds`). A moment,
    which is a time with its offset, falls on the day that it was in the zone, where that is given."""
    if zone is not None and (moment := moment_of(text, day_format)) is not None:
        return moment.astimezone(zone).date()
    if day_format == MILLISECONDS:
        return _milliseconds(text).date()
    if day_format is not None:
        return _parse_formatted(text, day_format).date()
    found = ISO_DAY.fullmatch(text)
    if found is None:
        raise ValueError(f'“{text}” is not a date as 2026-05-31; the mapping may name another "format"')
    try:
        return date(int(found[1]), int(found[2]), int(found[3]))
    except ValueError as impossible:
        raise ValueError(f"“{text}” is not a day of the calendar") from impossible


def moment_of(text: str, day_format: str | None) -> datetime | None:
    """The moment that a text tells, which is more than a day: its time, and how far that is from UTC."""
    try:
        if day_format == MILLISECONDS:
            return _milliseconds(text)
        if day_format is not None:
            formatted = _parse_formatted(text, day_format)
            return formatted if formatted.tzinfo is not None else None
        return _iso_moment(text)
    except (ValueError, OverflowError):
        return None


def _parse_formatted(text: str, day_format: str) -> datetime:
    try:
        return datetime.strptime(text, day_format)  # noqa: DTZ007 (a day on the calendar has no time zone)
    except ValueError as unreadable:
        raise ValueError(f"“{text}” is not a date in the format {day_format}") from unreadable


def _milliseconds(text: str) -> datetime:
    """A moment as milliseconds since 1970; shorter numbers are something else, such as a row's number."""
    if not MOMENT.fullmatch(text):
        raise ValueError(f"“{text}” is not a moment in milliseconds since 1970")
    return datetime.fromtimestamp(int(text) / 1000, tz=UTC)


def _iso_moment(text: str) -> datetime | None:
    found = OFFSET_TIME.fullmatch(text)
    if found is None:
        return None
    day = parse_day(text, None)
    offset = timedelta(hours=int(found["hours"] or 0), minutes=int(found["minutes"] or 0))
    return datetime(
        day.year,
        day.month,
        day.day,
        int(found["hour"]),
        int(found["minute"]),
        int(found["second"] or 0),
        tzinfo=timezone(-offset if found["sign"] == "-" else offset),
    )
