"""The close-out as it is shown."""

from rest_framework import serializers

from orders.api.shapes import NamedRef, Out, PatchRef, Row, UserRef
from orders.workorders.models import TimeEntry


class PrescriptionRef(Row):
    patch = PatchRef()
    method = serializers.CharField(source="method.code")


class OutcomeOut(Out):
    prescription = PrescriptionRef()
    percent_complete = serializers.IntegerField()
    stems_cut = serializers.IntegerField(allow_null=True)
    area_done_m2 = serializers.FloatField(allow_null=True)
    drawn = serializers.DictField(allow_null=True, help_text="GeoJSON polygon of the ground that was done, WGS 84.")


class TimeOut(Row):
    visit = serializers.UUIDField(source="visit.public_id")
    person = NamedRef()
    prescription = serializers.UUIDField(source="prescription.public_id", allow_null=True)
    step = serializers.CharField()
    work_date = serializers.DateField()
    minutes = serializers.IntegerField()
    origin = serializers.ChoiceField(TimeEntry.ORIGINS)


class MaterialOut(Row):
    visit = serializers.UUIDField(source="visit.public_id")
    lot = serializers.UUIDField(source="lot.public_id")
    product = serializers.CharField(source="lot.product.code")
    prescription = serializers.UUIDField(source="prescription.public_id", allow_null=True)
    amount = serializers.IntegerField(help_text="In the lot's unit, microliters or milligrams.")
    entered_value = serializers.DecimalField(max_digits=14, decimal_places=4)
    entered_unit = serializers.CharField()
    work_date = serializers.DateField()


class CloseOutOut(Row):
    order = serializers.UUIDField(source="order.public_id")
    revision = serializers.IntegerField(help_text="1 is the close; a later one amends the one before.")
    reason = serializers.CharField()
    work_date = serializers.DateField()
    happened_at = serializers.DateTimeField()
    received_at = serializers.DateTimeField()
    confirmed_by = serializers.CharField()
    by = UserRef()
    condition = serializers.CharField()
    weather = serializers.DictField()
    follow_up_wanted = serializers.BooleanField()
    notes = serializers.CharField()
    outcomes = OutcomeOut(many=True)
    time_entries = TimeOut(many=True)
    material_uses = MaterialOut(many=True)
