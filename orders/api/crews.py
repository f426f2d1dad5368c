"""Crews and people. What anybody is paid is not here."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.filters import AnyOf, Filters, OfId, OfWord, YesNo
from orders.api.paging import ListEndpoint
from orders.api.permissions import OFFICE
from orders.api.shapes import NamedRef, Out, Row, VersionedRow
from orders.crews.models import PERSON_TYPES, Crew, Person
from orders.crews.selectors import crews, people, people_on


class MemberOut(Out):
    person = NamedRef()
    role = serializers.CharField(source="person.role.code")
    is_lead = serializers.BooleanField()
    first_day = serializers.DateField()
    last_day = serializers.DateField(allow_null=True)


class CrewOut(VersionedRow):
    name = serializers.CharField()
    is_active = serializers.BooleanField()
    hours_a_day = serializers.DecimalField(max_digits=4, decimal_places=2)
    works_weekdays = serializers.CharField(help_text="Monday first: 1 works, 0 does not.")
    members = MemberOut(many=True, source="members_today", help_text="Of today.")


class CrewFilter(Filters):
    is_active = YesNo()
    name = OfWord()


class Crews(ListEndpoint):
    endpoint = "crews"
    row = CrewOut
    filters = CrewFilter
    sorts = {"name": "name"}
    usual_sort = "name"

    def rows(self) -> QuerySet[Crew]:
        """Crews with who is on them today."""
        return crews(self.today)


class QualificationOut(Row):
    kind = serializers.CharField(source="kind.code")
    jurisdiction = serializers.CharField(source="jurisdiction.code", allow_null=True)
    number = serializers.CharField()
    category = serializers.CharField()
    supervised_by = NamedRef(allow_null=True)
    first_day = serializers.DateField()
    last_day = serializers.DateField()


class PersonOut(VersionedRow):
    only_for = {"born_on": OFFICE, "email": OFFICE}

    name = serializers.CharField()
    person_type = serializers.ChoiceField(PERSON_TYPES)
    role = serializers.CharField(source="role.code")
    is_active = serializers.BooleanField()
    born_on = serializers.DateField(allow_null=True)
    email = serializers.CharField()
    qualifications = QualificationOut(many=True)


class PersonFilter(Filters):
    crew = OfId(method="on_crew", help_text="Who is on the crew today.")
    person_type = AnyOf(words=PERSON_TYPES)
    is_active = YesNo()

    def on_crew(self, rows: QuerySet[Person], name: str, crew_id: Any) -> QuerySet[Person]:
        return people_on(rows, crew_id, self.today)


class People(ListEndpoint):
    endpoint = "people"
    row = PersonOut
    filters = PersonFilter
    sorts = {"name": "name"}
    usual_sort = "name"

    def rows(self) -> QuerySet[Person]:
        """People and what they may do. Birthdays and addresses are the office's."""
        return people()
