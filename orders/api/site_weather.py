"""Daily weather of a site from files, and what it says of the season, as advice."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfId, OnDay
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, SiteRef, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Text
from orders.sites.advice import site_advice
from orders.sites.models import DailyWeather
from orders.sites.selectors import site_get
from orders.sites.services import WeatherImported, weather_import
from orders.sites.weather import daily_weather

CSV_CHARACTERS = 1_000_000


class DailyWeatherOut(VersionedRow):
    site = SiteRef()
    day = serializers.DateField()
    low_c = serializers.FloatField()
    high_c = serializers.FloatField()
    rain_mm = serializers.FloatField(allow_null=True)
    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again


class WeatherFilter(Filters):
    site = OfId(field_name="site__public_id")
    day_from = OnDay(field_name="day", lookup_expr="gte")
    day_to = OnDay(field_name="day", lookup_expr="lte")


class Weather(ListEndpoint):
    endpoint = "daily-weather"
    row = DailyWeatherOut
    from_columns = True
    filters = WeatherFilter
    sorts = {"day": "day", "site": "site__code"}
    usual_sort = "day"

    def rows(self) -> QuerySet[DailyWeather]:
        """Low, high and rain of each day that is on record, in degrees Celsius and millimeters."""
        return daily_weather()


class DailyWeatherIn(Body):
    csv = Text(
        max_length=CSV_CHARACTERS,
        help_text="With a header: date, low_f and high_f or low_c and high_c, and maybe rain_in or rain_mm.",
    )
    source = Text(max_length=200, help_text="Where the figures come from.")  # type: ignore[assignment]


class WeatherImportedOut(Out):
    site = SiteRef()
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    added = serializers.IntegerField()
    changed = serializers.IntegerField(help_text="Days that were there and say something else now.")
    same = serializers.IntegerField()


class SiteWeather(Endpoint):
    endpoint = "site-weather"

    @writes(WeatherImportedOut, body=DailyWeatherIn)
    def post(self, site_id: Any) -> WeatherImported:
        """Read the days of a CSV, all or none. A day that is there already is brought up to date."""
        text, source = self.body["csv"], self.body["source"]
        return weather_import(site=site_get(site_id), text=text, source=source, stamp=self.stamp())


class AdviceOut(Out):
    on = serializers.DateField(help_text="The day at the site for which this is told.")
    line = serializers.CharField(help_text="All sentences; it says that it is advice only.")
    sentences = serializers.ListField(child=serializers.CharField())


class SiteAdvice(Endpoint):
    endpoint = "site-advice"

    @shows(AdviceOut)
    def get(self, site_id: Any) -> dict[str, Any]:
        """Degree days, day length, leaf fall and first freeze by the site's weather. No window rests on it."""
        site = site_get(site_id)
        today = self.stamp().local_date(site.time_zone)
        told = site_advice(site, today)
        return {"on": today, "line": told.line, "sentences": list(told.sentences)}
