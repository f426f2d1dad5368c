"""Equipment hours and trips as they were measured. No amount is in them."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfId, OnDay
from orders.api.operations import writes
from orders.api.paging import ListEndpoint
from orders.api.purchases import NumberRef
from orders.api.shapes import NamedRef, Row, UserRef
from orders.bodies.base import Body
from orders.bodies.fields import Day, Id, Text, Whole
from orders.common.errors import FieldError, Invalid
from orders.costs.purchase_selectors import equipment_hours, equipment_hours_get, trip_get, trips
from orders.costs.services.measuring import (
    MINUTES_A_DAY,
    MOST_MILES_TENTHS,
    equipment_hours_add,
    equipment_hours_correct,
    trip_add,
    trip_correct,
)
from orders.crews.selectors import person_get
from orders.supplies.selectors import equipment_get
from orders.workorders.selectors import order_get, order_visit_get


class MachineRef(NamedRef):
    code = serializers.CharField()


class MeasuredOut(Row):
    visit = Row(allow_null=True)
    work_date = serializers.DateField()
    revision = serializers.IntegerField()
    replaces = Row(allow_null=True)
    reason = serializers.CharField()
    at = serializers.DateTimeField()
    by = UserRef(allow_null=True)


class EquipmentHoursOut(MeasuredOut):
    equipment = MachineRef()
    order = NumberRef()
    method_code = serializers.CharField(help_text="Whose standard hours they stand instead of.")
    operating_minutes = serializers.IntegerField()
    standby_minutes = serializers.IntegerField(help_text="They cost nothing.")


class EquipmentHoursIn(Body):
    equipment = Id()
    order = Id()
    visit = Id()
    method_code = Text(max_length=20, allow_blank=True, default="")
    work_date = Day()
    operating_minutes = Whole(max_value=MINUTES_A_DAY)
    standby_minutes = Whole(max_value=MINUTES_A_DAY, default=0)


class EquipmentHoursCorrection(Body):
    operating_minutes = Whole(max_value=MINUTES_A_DAY)
    standby_minutes = Whole(max_value=MINUTES_A_DAY, default=0)
    reason = Text(max_length=200)


class EquipmentHoursFilter(Filters):
    order = OfId(field_name="order__public_id")
    equipment = OfId(field_name="equipment__public_id")
    day_from = OnDay(field_name="work_date", lookup_expr="gte")
    day_to = OnDay(field_name="work_date", lookup_expr="lte")


class EquipmentHoursAll(ListEndpoint):
    endpoint = "equipment-hours"
    row = EquipmentHoursOut
    filters = EquipmentHoursFilter
    sorts = {"id": "id", "work_date": "work_date"}
    usual_sort = "-id"

    def rows(self) -> QuerySet[Any]:
        """Hours of machines on orders, replaced ones too, the newest first."""
        return equipment_hours(self.actor)

    @writes(EquipmentHoursOut, body=EquipmentHoursIn, names_others=True)
    def post(self) -> Any:
        """Add hours of a machine on a visit; they are posted at once, at the machine's own rate of the day."""
        told = dict(self.body)
        order = order_get(self.actor, told.pop("order"), on=self.today)
        return equipment_hours_add(
            equipment=equipment_get(told.pop("equipment")),
            order=order,
            visit=order_visit_get(order, told.pop("visit")),
            posted_on=self.today,
            stamp=self.stamp(),
            **told,
        )


class EquipmentHoursCorrect(Endpoint):
    endpoint = "equipment-hours-correct"

    @writes(EquipmentHoursOut, body=EquipmentHoursCorrection)
    def post(self, hours_id: Any) -> Any:
        """Other hours instead of those. The old entry stays, and points at nothing more."""
        told = dict(self.body)
        return equipment_hours_correct(
            hours=equipment_hours_get(self.actor, hours_id),
            posted_on=self.today,
            stamp=self.stamp(told.pop("reason")),
            **told,
        )


class TripOut(MeasuredOut):
    order = NumberRef(allow_null=True)
    person = NamedRef(allow_null=True)
    vehicle = serializers.CharField()
    miles_tenths = serializers.IntegerField(help_text="Tenths of a mile, by the odometer.")
    purpose = serializers.CharField()


class TripIn(Body):
    vehicle = Text(max_length=60)
    work_date = Day()
    miles_tenths = Whole(max_value=MOST_MILES_TENTHS)
    order = Id(required=False, allow_null=True)
    visit = Id(required=False, allow_null=True, help_text="Whose miles by the map it stands instead of.")
    person = Id(required=False, allow_null=True)
    purpose = Text(max_length=120, allow_blank=True, default="")


class TripCorrection(Body):
    miles_tenths = Whole(max_value=MOST_MILES_TENTHS)
    reason = Text(max_length=200)


class TripFilter(Filters):
    order = OfId(field_name="order__public_id")
    day_from = OnDay(field_name="work_date", lookup_expr="gte")
    day_to = OnDay(field_name="work_date", lookup_expr="lte")


class Trips(ListEndpoint):
    endpoint = "trips"
    row = TripOut
    filters = TripFilter
    sorts = {"id": "id", "work_date": "work_date"}
    usual_sort = "-id"

    def rows(self) -> QuerySet[Any]:
        """Miles by the odometer, replaced ones too, the newest first."""
        return trips(self.actor)

    @writes(TripOut, body=TripIn, names_others=True)
    def post(self) -> Any:
        """Add a trip; it is posted at once, at the rate of its day."""
        told = dict(self.body)
        order_id, visit_id = told.pop("order", None), told.pop("visit", None)
        order = order_get(self.actor, order_id, on=self.today) if order_id else None
        if visit_id and order is None:
            raise Invalid("The trip was not added.", [FieldError("order", "Name the order of the visit.")])
        person = told.pop("person", None)
        return trip_add(
            order=order,
            visit=order_visit_get(order, visit_id) if order and visit_id else None,
            person=person_get(person) if person else None,
            posted_on=self.today,
            stamp=self.stamp(),
            **told,
        )


class TripCorrect(Endpoint):
    endpoint = "trip-correct"

    @writes(TripOut, body=TripCorrection)
    def post(self, trip_id: Any) -> Any:
        """Other miles instead of those."""
        told = dict(self.body)
        trip = trip_get(self.actor, trip_id)
        return trip_correct(trip=trip, posted_on=self.today, stamp=self.stamp(told.pop("reason")), **told)
