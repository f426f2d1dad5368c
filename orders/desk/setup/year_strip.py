"""A strip over a year: from when to when each thing holds, as places on a line of 1,000 parts."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

PARTS = 1000
ROW_HEIGHT = 28
Span = tuple[date, date]


@dataclass(frozen=True)
class Bar:
    words: str
    first: date
    last: date
    x: int
    width: int
    y: int


@dataclass(frozen=True)
class Month:
    name: str
    x: int


@dataclass(frozen=True)
class Strip:
    year: int
    bars: list[Bar]
    months: list[Month]
    today: int
    height: int


def year_strip(lines: Iterable[tuple[str, date, date]], year: Span, today: date) -> Strip:
    first, last = year
    shown = [line for line in lines if line[1] <= last and line[2] >= first]
    bars = [_bar(number, line, year) for number, line in enumerate(shown)]
    months = [
        Month(date(first.year, month, 1).strftime("%b"), _x(date(first.year, month, 1), year)) for month in range(1, 13)
    ]
    return Strip(first.year, bars, months, _x(today, year), ROW_HEIGHT * (len(bars) + 1))


def _bar(number: int, line: tuple[str, date, date], year: Span) -> Bar:
    words, begins, ends = line
    x = _x(max(begins, year[0]), year)
    width = _x(min(ends, year[1]) + timedelta(days=1), year) - x
    return Bar(words, begins, ends, x, max(width, 4), ROW_HEIGHT * (number + 1))


def _x(day: date, year: Span) -> int:
    return round(PARTS * (day - year[0]).days / ((year[1] - year[0]).days + 1))
