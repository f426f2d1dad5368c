"""Days off, of a person or of a whole crew."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfId, OnDay
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, Row
from orders.bodies.base import Body
from orders.bodies.fields import Day, Id, Text
from orders.common.rows import row_mark
from orders.crews.models import Absence
from orders.crews.selectors import absence_get, absences, crew_get, person_get
from orders.crews.services import absence_add, absence_edit, absence_remove


class AbsenceOut(Row):
    crew = NamedRef(allow_null=True)
    person = NamedRef(allow_null=True)
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    why = serializers.CharField()


class AbsenceIn(Body):
    """Of a person or of a crew: one of the two."""

    crew = Id(required=False, allow_null=True)
    person = Id(required=False, allow_null=True)
    first_day = Day()
    last_day = Day()
    why = Text(max_length=120)


class AbsenceEdit(Body):
    first_day = Day(required=False)
    last_day = Day(required=False)
    why = Text(max_length=120, required=False)


class AbsenceFilter(Filters):
    crew = OfId(field_name="crew__public_id")
    person = OfId(field_name="person__public_id")
    from_day = OnDay(field_name="last_day", lookup_expr="gte")
    to_day = OnDay(field_name="first_day", lookup_expr="lte")


class Absences(ListEndpoint):
    endpoint = "absences"
    row = AbsenceOut
    filters = AbsenceFilter
    sorts = {"first_day": "first_day"}
    usual_sort = "first_day"

    def rows(self) -> QuerySet[Absence]:
        """Who is away when."""
        return absences()

    @writes(AbsenceOut, body=AbsenceIn, located_at="absence", names_others=True)
    def post(self) -> Absence:
        """Add days off. Visits that are planned then are not moved by it."""
        told = dict(self.body)
        for name, reader in (("crew", crew_get), ("person", person_get)):
            told[name] = reader(told[name]) if told.get(name) else None
        return absence_add(stamp=self.stamp(), **told)


class AbsenceOne(Endpoint):
    endpoint = "absence"

    @shows(AbsenceOut)
    def get(self, absence_id: Any) -> Absence:
        """One absence."""
        return absence_get(absence_id)

    @edits(AbsenceOut, body=AbsenceEdit)
    def patch(self, absence_id: Any) -> Absence:
        """Correct its days or its reason."""
        row = absence_get(absence_id)
        self.current_check(row)
        return absence_edit(absence=row, values=self.body, read=row_mark(row), stamp=self.stamp())


class AbsenceRemove(Endpoint):
    endpoint = "absence-remove"

    @writes(AbsenceOut, status=200)
    def post(self, absence_id: Any) -> Absence:
        """Take days off back; the record of changes keeps what they were."""
        row = absence_get(absence_id)
        absence_remove(absence=row, stamp=self.stamp())
        return row
