"""Daily weather read from a file: all of its days or none. A day that is there already is brought up to date."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from orders.common.changes import change_record, version_bump
from orders.common.rows import Findings, plain_values
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.sites.models import DailyWeather, Site
from orders.sites.weather_csv import WeatherDay, weather_from_csv

BATCH = 500
SOURCE_CHARACTERS = 200


@dataclass(frozen=True)
class WeatherImported:
    """How many days were new, how many were brought up to date, and how many stood so already."""

    site: Site
    first_day: date
    last_day: date
    added: int
    changed: int
    same: int


@writing()
def weather_import(*, stamp: Stamp, site: Site, text: str, source: str) -> WeatherImported:
    """Take the days of a CSV (orders.sites.weather_csv). A blank rain leaves what is known of it."""
    found = Findings()
    found.need(0 < len(source.strip()) <= SOURCE_CHARACTERS, "source", "Say where the figures come from.")
    found.refuse("The weather was not taken.")
    days = weather_from_csv(text, today=stamp.local_date(site.time_zone))
    held = {row.day: row for row in DailyWeather.objects.filter(site=site, day__gte=days[0].day, day__lte=days[-1].day)}
    fresh = [DailyWeather(site=site, source=source, **vars(read)) for read in days if read.day not in held]
    DailyWeather.objects.bulk_create(fresh, batch_size=BATCH)
    changed = sum(_day_change(held[read.day], read, source, stamp) for read in days if read.day in held)
    told = {
        "first_day": days[0].day.isoformat(),
        "last_day": days[-1].day.isoformat(),
        "added": len(fresh),
        "changed": changed,
        "source": source,
    }
    change_record(stamp=stamp, verb="weather_import", entity=site, after=told)
    same = len(days) - len(fresh) - changed
    return WeatherImported(site, days[0].day, days[-1].day, len(fresh), changed, same)


def _day_change(row: DailyWeather, read: WeatherDay, source: str, stamp: Stamp) -> bool:
    """Whether the day says something else now; its source follows its figures."""
    rain_mm = row.rain_mm if read.rain_mm is None else read.rain_mm
    values: dict[str, Any] = {"low_c": read.low_c, "high_c": read.high_c, "rain_mm": rain_mm}
    changed = {name: value for name, value in values.items() if value != getattr(row, name)}
    if not changed:
        return False
    before = version_bump(row, expected=None, **changed, source=source)
    after = plain_values({**changed, "source": source})
    change_record(stamp=stamp, verb="weather_edit", entity=row, before=plain_values(before), after=after)
    return True
