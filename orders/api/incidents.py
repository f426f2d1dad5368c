"""Incidents, and what the desk notes about them."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OnDay, YesNo
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, Out, Row, SiteRef, UserRef
from orders.bodies.base import Body
from orders.bodies.fields import Flag, Text
from orders.workorders.field_facts import incident_get, incidents_of
from orders.workorders.incident_notes import incident_note_add
from orders.workorders.models import Incident


class IncidentNoteOut(Out):
    note = serializers.CharField()
    is_closing = serializers.BooleanField()
    by = UserRef()
    at = serializers.DateTimeField()


class IncidentOut(Row):
    kind = serializers.ChoiceField(Incident.KINDS)
    crew = NamedRef(allow_null=True)
    site = SiteRef(allow_null=True)
    order = serializers.IntegerField(source="order.number", default=None, allow_null=True, help_text="Its number.")
    work_date = serializers.DateField()
    at = serializers.DateTimeField()
    what_happened = serializers.CharField()
    what_was_done = serializers.CharField()
    people = serializers.ListField(child=serializers.CharField())
    told = serializers.CharField()
    work_stopped = serializers.BooleanField()
    lon = serializers.FloatField(allow_null=True)
    lat = serializers.FloatField(allow_null=True)
    reported_by = serializers.CharField()
    is_closed = serializers.BooleanField(help_text="The desk noted that nothing more is to be done.")
    notes = IncidentNoteOut(many=True)


class IncidentFilter(Filters):
    kind = AnyOf(words=Incident.KINDS)
    crew = OfId(field_name="crew__public_id")
    site = OfId(field_name="site__public_id")
    order = OfId(field_name="order__public_id")
    day_from = OnDay(field_name="work_date", lookup_expr="gte")
    day_to = OnDay(field_name="work_date", lookup_expr="lte")
    is_closed = YesNo()


class Incidents(ListEndpoint):
    endpoint = "incidents"
    row = IncidentOut
    filters = IncidentFilter
    sorts = {"at": "at"}
    usual_sort = "-at"

    def rows(self) -> QuerySet[Any]:
        """Spills, exposures, injuries, near misses and stopped work; a crew lead's are those of own crews."""
        return incidents_of(self.actor, on=self.today)


class IncidentOne(Endpoint):
    endpoint = "incident"

    @shows(IncidentOut)
    def get(self, incident_id: Any) -> Incident:
        """One incident with the desk's notes."""
        return incident_get(self.actor, incident_id, on=self.today)


class IncidentNoteIn(Body):
    note = Text(max_length=2_000)
    is_closing = Flag(default=False, help_text="Nothing more is to be done about it.")


class IncidentNotes(Endpoint):
    endpoint = "incident-notes"

    @writes(IncidentOut, body=IncidentNoteIn)
    def post(self, incident_id: Any) -> Incident:
        """Note something about it, or that nothing more is to be done."""
        incident = incident_get(self.actor, incident_id, on=self.today)
        incident_note_add(incident=incident, **self.body, stamp=self.stamp())
        return incident_get(self.actor, incident_id, on=self.today)
