"""Weather as crews measured it before and after a use of herbicide, and what the limits say of it."""

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.filters import AnyOf, Filters, OfId, OnDay
from orders.api.paging import ListEndpoint
from orders.api.shapes import Row, SiteRef
from orders.workorders.field_facts import weather_checks_of
from orders.workorders.models import WeatherCheck


class WeatherCheckOut(Row):
    site = SiteRef()
    order = serializers.IntegerField(source="order.number", default=None, allow_null=True, help_text="Its number.")
    batch = serializers.UUIDField(source="batch.public_id", default=None, allow_null=True)
    work_date = serializers.DateField()
    at = serializers.DateTimeField()
    purpose = serializers.ChoiceField(WeatherCheck.PURPOSES)
    air_temperature_c = serializers.FloatField(allow_null=True)
    relative_humidity_percent = serializers.FloatField(allow_null=True)
    wind_m_s = serializers.FloatField(allow_null=True)
    gust_m_s = serializers.FloatField(allow_null=True)
    wind_from_deg = serializers.FloatField(allow_null=True)
    sky = serializers.CharField()
    inversion_signs = serializers.BooleanField(allow_null=True)
    rain_expected_hours = serializers.FloatField(allow_null=True)
    verdict = serializers.ChoiceField(WeatherCheck.VERDICTS)
    findings = serializers.ListField(child=serializers.JSONField(), help_text="Each limit that stands against it.")
    passed_by = serializers.CharField(help_text="Who let an advisory or program limit pass; never a mandatory one.")
    passed_reason = serializers.CharField()


class WeatherCheckFilter(Filters):
    site = OfId(field_name="site__public_id")
    order = OfId(field_name="order__public_id")
    batch = OfId(field_name="batch__public_id")
    verdict = AnyOf(words=WeatherCheck.VERDICTS)
    purpose = AnyOf(words=WeatherCheck.PURPOSES)
    day_from = OnDay(field_name="work_date", lookup_expr="gte")
    day_to = OnDay(field_name="work_date", lookup_expr="lte")


class WeatherChecks(ListEndpoint):
    endpoint = "weather-checks"
    row = WeatherCheckOut
    filters = WeatherCheckFilter
    sorts = {"at": "at"}
    usual_sort = "-at"

    def rows(self) -> QuerySet[WeatherCheck]:
        """Weather checks with their verdict; a crew lead's are those of own crews."""
        return weather_checks_of(self.actor, on=self.today)
