"""Who is outside and until when, and the briefings they began with."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfId, OnDay, YesNo
from orders.api.operations import writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, Out, Row, SiteRef, UserRef
from orders.bodies.base import Body
from orders.bodies.fields import Text
from orders.common.errors import NotFound
from orders.field.models import Briefing, CheckIn, CheckInStep
from orders.field.selectors.checkins import alerts_by_check_in, briefings_of, check_in_get, check_ins_of
from orders.field.services.checkins import check_in_found
from orders.field.services.overdue import overdue_take


class CheckInStepOut(Row):
    kind = serializers.ChoiceField(CheckInStep.KINDS)
    at = serializers.DateTimeField()
    back_by = serializers.DateTimeField(allow_null=True)
    note = serializers.CharField()
    by = UserRef(allow_null=True)


class CheckInPersonOut(Out):
    id = serializers.UUIDField(source="person.public_id")
    name = serializers.CharField(source="person.name")


class CheckInOut(Row):
    crew = NamedRef()
    site = SiteRef()
    work_date = serializers.DateField()
    at = serializers.DateTimeField()
    until = serializers.DateTimeField(help_text="When they mean to be back, as they said last.")
    ended_at = serializers.DateTimeField(allow_null=True, help_text="null while they are out.")
    phone = serializers.CharField()
    note = serializers.CharField()
    lon = serializers.FloatField(allow_null=True)
    lat = serializers.FloatField(allow_null=True)
    people = CheckInPersonOut(many=True)
    steps = CheckInStepOut(many=True)


class CheckInFilter(Filters):
    crew = OfId(field_name="crew__public_id")
    site = OfId(field_name="site__public_id")
    day_from = OnDay(field_name="work_date", lookup_expr="gte")
    day_to = OnDay(field_name="work_date", lookup_expr="lte")
    is_out = YesNo(field_name="ended_at", lookup_expr="isnull")


class CheckIns(ListEndpoint):
    endpoint = "check-ins"
    row = CheckInOut
    filters = CheckInFilter
    sorts = {"at": "at", "until": "until"}
    usual_sort = "-at"

    def rows(self) -> QuerySet[Any]:
        """Check-ins of crews at sites; a crew lead's are those of own crews."""
        return check_ins_of(self.actor, on=self.today)


class FoundIn(Body):
    note = Text(max_length=200, help_text="How you know.")


class CheckInEndpoint(Endpoint):
    """An address of one check-in, within the actor's scope."""

    def check_in(self, check_in_id: Any) -> CheckIn:
        return check_in_get(self.actor, check_in_id, on=self.today)


class CheckInFound(CheckInEndpoint):
    endpoint = "check-in-found"

    @writes(CheckInOut, body=FoundIn, status=200)
    def post(self, check_in_id: Any) -> CheckIn:
        """Say that the crew was found safe. Its alert ends."""
        check_in_found(check_in=self.check_in(check_in_id), note=self.body["note"], stamp=self.stamp())
        return self.check_in(check_in_id)


class AlertOut(Row):
    back_by = serializers.DateTimeField()
    raised_at = serializers.DateTimeField()
    mailed_at = serializers.DateTimeField(allow_null=True)
    taken_by = UserRef(allow_null=True)
    taken_at = serializers.DateTimeField(allow_null=True)


class CheckInTake(CheckInEndpoint):
    endpoint = "check-in-take"

    @writes(AlertOut, status=200)
    def post(self, check_in_id: Any) -> Any:
        """Take the alert of a crew that is not back in hand: one person looks for them, and the others know who."""
        alert = alerts_by_check_in().get(self.check_in(check_in_id).pk)
        if alert is None:
            raise NotFound("No alert stands for this check-in.")
        return overdue_take(alert=alert, stamp=self.stamp())


class HazardOut(Out):
    code = serializers.CharField()
    control = serializers.CharField(allow_null=True, default=None)


class BriefingOut(Row):
    crew = NamedRef()
    site = SiteRef()
    work_date = serializers.DateField()
    at = serializers.DateTimeField()
    led_by = NamedRef()
    orders = serializers.ListField(child=serializers.CharField())
    people = serializers.ListField(child=serializers.JSONField(), help_text="Who heard it.")
    conditions = serializers.DictField(help_text="As entered: temperature, humidity, wind, sun, kind of work.")
    computed = serializers.DictField(help_text="Heat index, wind chill, work and rest, with their bands.")
    hazards = HazardOut(many=True)
    notes = serializers.CharField()


class BriefingFilter(Filters):
    crew = OfId(field_name="crew__public_id")
    site = OfId(field_name="site__public_id")
    day_from = OnDay(field_name="work_date", lookup_expr="gte")
    day_to = OnDay(field_name="work_date", lookup_expr="lte")


class Briefings(ListEndpoint):
    endpoint = "briefings"
    row = BriefingOut
    filters = BriefingFilter
    sorts = {"at": "at"}
    usual_sort = "-at"

    def rows(self) -> QuerySet[Briefing]:
        """Tailgate briefings as they were held; a crew lead's are those of own crews."""
        return briefings_of(self.actor, on=self.today)
