"""Effort statements: minutes by fund and award, never a rate or a cost. Each person may see and confirm the own one."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OnDay
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, Out, Row
from orders.bodies.base import Body
from orders.bodies.fields import Day, Id, Text
from orders.costs.effort_selectors import STATES, effort_statement_get, effort_statements, shown
from orders.costs.services.effort import effort_confirm, effort_make
from orders.crews.selectors import person_get


class EffortLineOut(Out):
    fund = serializers.CharField(source="fund.code", default=None, allow_null=True)
    award = serializers.CharField(source="award.code", default=None, allow_null=True)
    activity = serializers.CharField(help_text="orders, or the code of paid time that is no order.")
    minutes = serializers.IntegerField()
    share_e4 = serializers.IntegerField(help_text="1/10,000 of all paid time; the lines' shares add up to 10,000.")


class EffortRow(Row):
    person = NamedRef()
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    revision = serializers.IntegerField()
    state = serializers.ChoiceField(STATES)
    minutes = serializers.IntegerField()
    made_at = serializers.DateTimeField()
    confirmed_name = serializers.CharField()
    confirmed_at = serializers.DateTimeField(allow_null=True)
    lines = EffortLineOut(many=True)


class EffortOut(EffortRow):
    is_out_of_date = serializers.BooleanField(help_text="Time has changed since: have it made anew.")
    lacking = serializers.ListField(child=serializers.DateField(), help_text="Days without a day sheet.")


class EffortIn(Body):
    person = Id()
    first_day = Day()
    last_day = Day()


class EffortFilter(Filters):
    person = OfId(field_name="person__public_id")
    state = AnyOf(words=STATES)
    first_day = OnDay(field_name="first_day")
    last_day = OnDay(field_name="last_day")


SHOWN: tuple[str, ...] = ("public_id", "person", "first_day", "last_day", "revision", "state", "minutes", "made_at")
SHOWN += ("confirmed_name", "confirmed_at")


def _whole(statement: Any) -> dict[str, Any]:
    (found,) = shown([statement])
    told = {name: getattr(statement, name) for name in SHOWN}
    more = {"is_out_of_date": found.is_out_of_date, "lacking": found.effort.lacking}
    return {**told, "lines": statement.lines.all(), **more}


class EffortStatements(ListEndpoint):
    endpoint = "effort-statements"
    row = EffortRow
    filters = EffortFilter
    sorts = {"first_day": "first_day"}
    usual_sort = "-first_day"

    def rows(self) -> QuerySet[Any]:
        """Statements that you may see: your own, those of people whom you led in those days; finance sees all."""
        return effort_statements(self.actor)

    @writes(EffortRow, body=EffortIn, names_others=True, located_at="effort-statement")
    def post(self) -> Any:
        """Make the statement of a person's days; where one stands that still fits, it is that one."""
        return effort_make(person=person_get(self.body.pop("person")), **self.body, stamp=self.stamp())


class EffortStatementOne(Endpoint):
    endpoint = "effort-statement"

    @shows(EffortOut)
    def get(self, effort_statement_id: Any) -> dict[str, Any]:
        """One statement, beside what the records say now."""
        return _whole(effort_statement_get(self.actor, effort_statement_id))


class EffortConfirmIn(Body):
    name = Text(max_length=120, help_text="Your own name, typed: it is your signature.")


class EffortConfirm(Endpoint):
    endpoint = "effort-statement-confirm"

    @writes(EffortRow, body=EffortConfirmIn, status=200)
    def post(self, effort_statement_id: Any) -> Any:
        """Confirm that it tells the work as it was: the person, or who led it (2 CFR 200.430)."""
        statement = effort_statement_get(self.actor, effort_statement_id)
        return effort_confirm(statement=statement, name=self.body["name"], stamp=self.stamp())
