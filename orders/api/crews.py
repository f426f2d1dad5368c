"""Crews, who is on them and who leads them."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfId, OfWord, YesNo
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, Out, Row, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Day, Exact, Flag, Id, Text
from orders.common.rows import row_mark
from orders.crews.models import Crew, CrewMembership
from orders.crews.selectors import crew_get, crews, member_get, members, person_get
from orders.crews.services import crew_add, crew_edit, crew_lead_change, crew_member_add, crew_member_edit

WEEKDAYS = "Monday first: 1 works, 0 does not."


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
    works_weekdays = serializers.CharField(help_text=WEEKDAYS)
    members = MemberOut(many=True, source="members_today", help_text="Of today.")


class CrewFilter(Filters):
    is_active = YesNo()
    name = OfWord()


class CrewIn(Body):
    name = Text(max_length=80)
    hours_a_day = Exact(max_digits=4, decimal_places=2, required=False, help_text="8 unless said.")
    works_weekdays = Text(max_length=7, required=False, help_text=f"{WEEKDAYS} 1111100 unless said.")


class CrewEdit(Body):
    name = Text(max_length=80, required=False)
    hours_a_day = Exact(max_digits=4, decimal_places=2, required=False)
    works_weekdays = Text(max_length=7, required=False, help_text=WEEKDAYS)
    is_active = Flag(required=False)


class _Crew(Endpoint):
    def told(self, crew_id: Any) -> Crew:
        """With who is on it today."""
        crew_get(crew_id)
        return crews(self.today).get(public_id=crew_id)


class Crews(ListEndpoint, _Crew):
    endpoint = "crews"
    row = CrewOut
    filters = CrewFilter
    sorts = {"name": "name"}
    usual_sort = "name"

    def rows(self) -> QuerySet[Crew]:
        """Crews with who is on them today."""
        return crews(self.today)

    @writes(CrewOut, body=CrewIn, located_at="crew")
    def post(self) -> Crew:
        """Add a crew."""
        return self.told(crew_add(stamp=self.stamp(), **self.body).public_id)


class CrewOne(_Crew):
    endpoint = "crew"

    @shows(CrewOut)
    def get(self, crew_id: Any) -> Crew:
        """One crew."""
        return self.told(crew_id)

    @edits(CrewOut, body=CrewEdit)
    def patch(self, crew_id: Any) -> Crew:
        """Change its name, hours, weekdays, or whether work is planned for it. What stands planned is not moved."""
        crew = self.told(crew_id)
        crew_edit(crew=crew, values=self.body, expected=self.version_named(crew), stamp=self.stamp())
        return self.told(crew_id)


class MembershipOut(Row):
    crew = NamedRef()
    person = NamedRef()
    is_lead = serializers.BooleanField()
    first_day = serializers.DateField()
    last_day = serializers.DateField(allow_null=True)


class MembershipIn(Body):
    crew = Id()
    person = Id()
    first_day = Day()
    last_day = Day(required=False, allow_null=True, help_text="Left out: until it is ended.")
    is_lead = Flag(required=False)


class MembershipEdit(Body):
    first_day = Day(required=False)
    last_day = Day(required=False, allow_null=True)
    is_lead = Flag(required=False)


class LeadIn(Body):
    person = Id()
    from_day = Day()


class MembershipFilter(Filters):
    crew = OfId(field_name="crew__public_id")
    person = OfId(field_name="person__public_id")


class CrewMembers(ListEndpoint):
    endpoint = "crew-members"
    row = MembershipOut
    filters = MembershipFilter
    sorts = {"first_day": "first_day"}
    usual_sort = "first_day"

    def rows(self) -> QuerySet[CrewMembership]:
        """Who was on which crew, from when to when."""
        return members()

    @writes(MembershipOut, body=MembershipIn, located_at="crew-member", names_others=True)
    def post(self) -> CrewMembership:
        """Put a person on a crew. A person is on one crew at a time."""
        told = {**self.body, "crew": crew_get(self.body["crew"]), "person": person_get(self.body["person"])}
        return crew_member_add(stamp=self.stamp(), **told)


class CrewMemberOne(Endpoint):
    endpoint = "crew-member"

    @shows(MembershipOut)
    def get(self, member_id: Any) -> CrewMembership:
        """One stay on a crew."""
        return member_get(member_id)

    @edits(MembershipOut, body=MembershipEdit)
    def patch(self, member_id: Any) -> CrewMembership:
        """Correct its days, end it by its last day, or say who led."""
        row = member_get(member_id)
        self.current_check(row)
        return crew_member_edit(member=row, values=self.body, read=row_mark(row), stamp=self.stamp())


class CrewLead(_Crew):
    endpoint = "crew-lead"

    @writes(CrewOut, body=LeadIn, status=200, names_others=True)
    def post(self, crew_id: Any) -> Crew:
        """A person of the crew leads it from a day on; who led until then stays on it."""
        person = person_get(self.body["person"])
        crew_lead_change(crew=crew_get(crew_id), person=person, from_day=self.body["from_day"], stamp=self.stamp())
        return self.told(crew_id)
