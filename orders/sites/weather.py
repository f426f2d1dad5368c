"""Reads of a site's daily weather: the days, how much of each year they cover."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.db.models import QuerySet

from orders.sites.models import DailyWeather, Site


@dataclass(frozen=True)
class YearCovered:
    """How many days of a calendar year are on record, and how many between the first and the last are not."""

    year: int
    first_day: date
    last_day: date
    days: int

    @property
    def missing(self) -> int:
        return (self.last_day - self.first_day).days + 1 - self.days


def daily_weather() -> QuerySet[DailyWeather]:
    return DailyWeather.objects.select_related("site").order_by("day", "id")


def site_weather(site: Site) -> list[DailyWeather]:
    """All days of a site, in order."""
    return list(DailyWeather.objects.filter(site=site).order_by("day"))


def years_covered(rows: Iterable[DailyWeather]) -> list[YearCovered]:
    """Of days in order, year by year."""
    found = []
    for year, days in groupby((row.day for row in rows), key=lambda day: day.year):
        listed = list(days)
        found.append(YearCovered(year, listed[0], listed[-1], len(listed)))
    return found
