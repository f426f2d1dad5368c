"""Daily weather as CSV (RFC 4180): a date, the low and the high in the unit that the header names, and maybe rain.

Columns, in any order: `date`, `low_f` and `high_f` or `low_c` and `high_c`, `rain_in` or `rain_mm`. A day that was not
measured is left out of the file; nothing is filled in.
"""

import csv
import io
import re
from dataclasses import dataclass
from datetime import date

from estimating.units import METRES_PER_INCH, celsius
from orders.common.errors import FieldError, Invalid
from orders.sites.geofiles.values import parse_day, parse_number
from orders.sites.models import COLDEST_C, HOTTEST_C

REFUSED = "The weather was not taken."
MOST_ROWS = 20_000
MOST_ERRORS = 50
MILLIMETERS_PER_INCH = 1000 * METRES_PER_INCH
# More than fell in any day on record, 1825 mm (World Meteorological Organization, from memory).
WETTEST_MM = 2000.0
NEEDED = ("date", "low", "high")
# What a header may call a column: the name before its unit, without case or marks.
NAMES = {
    "date": "date",
    "day": "date",
    "low": "low",
    "min": "low",
    "tmin": "low",
    "high": "high",
    "max": "high",
    "tmax": "high",
    "rain": "rain",
    "precipitation": "rain",
}
UNITS = {"date": {""}, "low": {"f", "c"}, "high": {"f", "c"}, "rain": {"in", "mm"}}


@dataclass(frozen=True)
class WeatherDay:
    day: date
    low_c: float
    high_c: float
    rain_mm: float | None


@dataclass(frozen=True)
class _Column:
    place: int
    heading: str
    unit: str


def weather_from_csv(text: str, *, today: date) -> list[WeatherDay]:
    """The days in their order; `Invalid` names each row (from 1, below the header) and its column."""
    lines = _lines(text)
    columns = _columns(lines[0][1] if lines else [])
    if len(lines) - 1 > MOST_ROWS:
        raise Invalid(REFUSED, [FieldError("csv", f"has more than {MOST_ROWS:,} rows")])
    days: dict[date, WeatherDay] = {}
    errors: list[FieldError] = []
    for row, cells in lines[1:]:
        found = _Row(row, cells, columns, today)
        weather = found.read()
        if weather is not None and weather.day in days:
            found.error("date", f"{weather.day} stands in the file twice")
        elif weather is not None:
            days[weather.day] = weather
        errors += found.errors
    if not days and not errors:
        errors = [FieldError("csv", "holds no days")]
    if errors:
        more = f" {len(errors):,} errors; the first {MOST_ERRORS} are named." if len(errors) > MOST_ERRORS else ""
        raise Invalid(f"{REFUSED}{more}", errors[:MOST_ERRORS])
    return [days[day] for day in sorted(days)]


def _lines(text: str) -> list[tuple[int, list[str]]]:
    """Rows that hold anything, numbered as a person counts them below the header."""
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    try:
        found = [line for line in reader if any(cell.strip() for cell in line)]
    except csv.Error as error:
        raise Invalid(REFUSED, [FieldError("csv", f"is no CSV: {error}", reader.line_num)]) from error
    return list(enumerate(found))


def _columns(headings: list[str]) -> dict[str, _Column]:
    columns: dict[str, _Column] = {}
    errors = []
    for place, heading in enumerate(headings):
        name, unit = _named(heading)
        if name in columns:
            errors.append(FieldError("csv", f"has two columns for {name}: {heading.strip()[:60]!r} is the second"))
        elif name and unit not in UNITS[name]:
            errors.append(FieldError("csv", f"must say the unit of {name} in the header: {_may_be(name)}"))
        if name:
            columns.setdefault(name, _Column(place, heading.strip()[:60], unit))
    errors += [FieldError("csv", f"lacks the column {name}: {_may_be(name)}") for name in NEEDED if name not in columns]
    if not errors and columns["low"].unit != columns["high"].unit:
        errors = [FieldError("csv", "has the low and the high in different units")]
    if errors:
        raise Invalid(f"{REFUSED} The first row must name the columns.", errors)
    return columns


def _named(heading: str) -> tuple[str, str]:
    """`Low (°F)` -> low, f; a column that we do not read -> empty."""
    words = re.findall(r"[a-z]+", heading.casefold())
    name = NAMES.get(words[0], "") if words else ""
    return (name, words[1] if len(words) > 1 else "") if len(words) <= 2 else ("", "")


def _may_be(name: str) -> str:
    units = sorted(UNITS[name])
    return " or ".join(f"{name}_{unit}" if unit else name for unit in units)


class _Row:
    """One row read cell by cell; what is wrong with it is collected."""

    def __init__(self, row: int, cells: list[str], columns: dict[str, _Column], today: date) -> None:
        self.row, self.cells, self.columns, self.today = row, cells, columns, today
        self.errors: list[FieldError] = []

    def error(self, name: str, message: str) -> None:
        self.errors.append(FieldError(self.columns[name].heading, message, self.row))

    def read(self) -> WeatherDay | None:
        day, low, high, rain = self._day(), self._temperature("low"), self._temperature("high"), self._rain()
        if low is not None and high is not None and high < low:
            self.error("high", f"{self._text('high')} is lower than the low, {self._text('low')}")
        if self.errors or day is None or low is None or high is None:
            return None
        return WeatherDay(day, low, high, rain)

    def _text(self, name: str) -> str:
        place = self.columns[name].place
        return self.cells[place].strip() if place < len(self.cells) else ""

    def _needed(self, name: str) -> str:
        text = self._text(name)
        if not text:
            self.error(name, "is blank; leave out the row of a day that was not measured")
        return text

    def _day(self) -> date | None:
        text = self._needed("date")
        if not text:
            return None
        try:
            day = parse_day(text, None)
        except ValueError:
            self.error("date", f"{text[:40]!r} is not a date as 2026-05-31")
            return None
        if not date(1850, 1, 1) <= day <= self.today:
            self.error("date", f"{day} is not from 1850 to today, {self.today}")
        return day

    def _number(self, name: str, text: str) -> float | None:
        try:
            return parse_number(text)
        except ValueError as error:
            self.error(name, str(error))
            return None

    def _temperature(self, name: str) -> float | None:
        text = self._needed(name)
        value = self._number(name, text) if text else None
        if value is None:
            return None
        degrees_c = celsius(value) if self.columns[name].unit == "f" else value
        if not COLDEST_C <= degrees_c <= HOTTEST_C:
            self.error(name, f"{text} °{self.columns[name].unit.upper()} is no weather; is the unit right?")
        return round(degrees_c, 4)

    def _rain(self) -> float | None:
        text = self._text("rain") if "rain" in self.columns else ""
        value = self._number("rain", text) if text else None
        if value is None:
            return None
        rain_mm = value * MILLIMETERS_PER_INCH if self.columns["rain"].unit == "in" else value
        if not 0 <= rain_mm <= WETTEST_MM:
            self.error("rain", f"{text} {self.columns['rain'].unit} is no day's rain; is the unit right?")
        return round(rain_mm, 4)
