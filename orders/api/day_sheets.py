"""Day sheets: each person's whole paid day by code."""

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.filters import Filters, OfId, OnDay
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, Out, Row, UserRef
from orders.field.models import DaySheet
from orders.field.selectors.daysheets import day_sheets_of, standing
from orders.workorders.models import TIME_CODES, TimeEntry


class DayShareOut(Out):
    order = serializers.IntegerField(source="order.number")
    minutes = serializers.IntegerField()


class DayLineOut(Out):
    code = serializers.ChoiceField(TIME_CODES)
    order = serializers.IntegerField(source="order.number", default=None, allow_null=True, help_text="Its number.")
    minutes = serializers.IntegerField()
    origin = serializers.ChoiceField(TimeEntry.ORIGINS)
    note = serializers.CharField()
    shares = DayShareOut(many=True, help_text="What each order bears of drive or standby.")


class DaySheetOut(Row):
    crew = NamedRef()
    person = NamedRef()
    work_date = serializers.DateField()
    revision = serializers.IntegerField()
    reason = serializers.CharField()
    rule = serializers.CharField(help_text="How drive and standby were shared: minutes or equal.")
    minutes = serializers.IntegerField()
    confirmed_by = serializers.CharField()
    by = UserRef(allow_null=True)
    at = serializers.DateTimeField()
    lines = DayLineOut(many=True)


class DaySheetFilter(Filters):
    crew = OfId(field_name="crew__public_id")
    person = OfId(field_name="person__public_id")
    day_from = OnDay(field_name="work_date", lookup_expr="gte")
    day_to = OnDay(field_name="work_date", lookup_expr="lte")


class DaySheets(ListEndpoint):
    endpoint = "day-sheets"
    row = DaySheetOut
    filters = DaySheetFilter
    sorts = {"work_date": "work_date"}
    usual_sort = "-work_date"

    def rows(self) -> QuerySet[DaySheet]:
        """Day sheets that stand; a crew lead's are those of own crews."""
        return standing(day_sheets_of(self.actor, on=self.today))
