"""Overtime premiums by person and workweek, each figure opened. Finance's alone."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfId, OnDay
from orders.api.operations import shows
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, Out, Row
from orders.costs.overtime_selectors import workweek_open, workweeks


class WorkweekRevisionOut(Row):
    revision = serializers.IntegerField()
    overtime_minutes = serializers.IntegerField(help_text="At time and a half.")
    double_minutes = serializers.IntegerField(help_text="At double time.")
    premium_cents = serializers.IntegerField(help_text="Payroll taxes on it included, where the pay policy adds them.")
    posted_at = serializers.DateTimeField()


class WorkweekOut(WorkweekRevisionOut):
    person = NamedRef()
    week_start = serializers.DateField()
    worked_minutes = serializers.IntegerField()
    regular_rate_e4 = serializers.IntegerField(help_text="1/10,000 dollars an hour; sums come of the exact ratio.")
    comp_minutes = serializers.IntegerField(help_text="Time off given instead of the premium.")


class WorkweekFigureOut(Out):
    words = serializers.CharField()
    minutes = serializers.IntegerField()
    rate_e4 = serializers.IntegerField(allow_null=True)
    cents = serializers.IntegerField(allow_null=True)


class WorkweekPartOut(Out):
    day = serializers.DateField()
    code = serializers.CharField(help_text="work, or the code of paid time that is no order.")
    order = serializers.IntegerField(allow_null=True, help_text="Its number.")
    prescription = serializers.UUIDField(allow_null=True)
    minutes = serializers.IntegerField()
    rate_e4 = serializers.IntegerField()
    overtime_minutes = serializers.IntegerField(help_text="Beyond a threshold.")
    cents = serializers.IntegerField(help_text="Of the premium.")


class WorkweekOpenedOut(Out):
    week = WorkweekOut(source="premium")
    is_standing = serializers.BooleanField()
    figures = WorkweekFigureOut(many=True)
    parts = WorkweekPartOut(many=True)
    entries = serializers.ListField(child=serializers.UUIDField(), source="entry_ids", help_text="Its ledger rows.")
    revisions = WorkweekRevisionOut(many=True)


class WorkweekFilter(Filters):
    person = OfId(field_name="person__public_id")
    week_from = OnDay(field_name="week_start", lookup_expr="gte")
    week_to = OnDay(field_name="week_start", lookup_expr="lte")


class Workweeks(ListEndpoint):
    endpoint = "workweek-premiums"
    row = WorkweekOut
    filters = WorkweekFilter
    sorts = {"week_start": "week_start", "premium_cents": "premium_cents"}
    usual_sort = "-week_start"

    def rows(self) -> QuerySet[Any]:
        """The standing figure of each person's workweek that ever had overtime."""
        return workweeks(self.actor)


class WorkweekOne(Endpoint):
    endpoint = "workweek-premium"

    @shows(WorkweekOpenedOut)
    def get(self, premium_id: Any) -> Any:
        """One revision of a workweek: each line of the figuring, what each piece of work bears, and the revisions."""
        return workweek_open(self.actor, premium_id)
