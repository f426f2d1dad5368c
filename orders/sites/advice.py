"""What weather says of a site's season: the advisory line, and degree days by year. No window rests on it."""

from calendar import monthrange
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import shapely

from estimating.advice import SeasonAdvice, season_advice
from estimating.degree_days import accumulated, fahrenheit_days
from estimating.weather import daily_weather
from orders.sites.models import DailyWeather, Site
from orders.sites.season_facts import in_year, season_calendar
from orders.sites.selectors import site_calendar
from orders.sites.weather import site_weather

DAY = timedelta(days=1)


@dataclass(frozen=True)
class DegreeDaySums:
    """Days of a year, and by year the sum up to each of them."""

    until: Sequence[date]
    years: Mapping[int, Sequence[float]]


def site_advice(site: Site, on: date, weather: Iterable[DailyWeather] | None = None) -> SeasonAdvice:
    """What weather and day length say of the site's season on a day; a day that is not over counts from the day before.
    `weather` where it was read already."""
    rows = list(site_weather(site) if weather is None else weather)
    if rows and rows[-1].day == on - DAY:
        on -= DAY
    known = daily_weather((row.day, row.low_c, row.high_c) for row in rows)
    latitude_deg = float(shapely.geometry.shape(site.boundary).centroid.y)
    return season_advice(on, latitude_deg, season_calendar(site_calendar(site)), known)


def degree_day_sums(weather: Iterable[DailyWeather], on: date, most_years: int = 3) -> DegreeDaySums:
    """Degree days (86/50 °F) from January 1 to each month's end of a year up to a day, in that year and those before
    it that are on record without a gap."""
    known = daily_weather((row.day, row.low_c, row.high_c) for row in weather)
    until = [day for month in range(1, 13) if (day := _month_end(on.year, month)) < on] + [on]
    found: dict[int, list[float]] = {}
    for year in range(on.year, on.year - most_years, -1):
        sums = [accumulated(known, date(year, 1, 1), in_year(day, year)) for day in until]
        if not any(part.missing for part in sums):
            found[year] = [fahrenheit_days(part.degree_days_c) for part in sums]
    return DegreeDaySums(until, found)


def _month_end(year: int, month: int) -> date:
    return date(year, month, monthrange(year, month)[1])
