"""What was mixed outside, and where it went."""

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.filters import Filters, OfId, OfWord, OnDay
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, Out, Row, SiteRef
from orders.workorders.field_facts import applications_of, batches_of
from orders.workorders.models import Application, MixBatch


class BatchProductRef(Out):
    code = serializers.CharField()
    name = serializers.CharField()


class BatchPartOut(Out):
    product = BatchProductRef()
    lot = serializers.UUIDField(source="lot.public_id", default=None, allow_null=True)
    lot_text = serializers.CharField(help_text="Where the program does not know the lot.")
    amount = serializers.IntegerField(help_text="Microliters or milligrams.")
    entered_value = serializers.DecimalField(max_digits=14, decimal_places=4)
    entered_unit = serializers.CharField()


class MixDayEndOut(Row):
    work_date = serializers.DateField()
    carried_over_ul = serializers.IntegerField()
    disposed_ul = serializers.IntegerField()
    container = serializers.CharField()
    how_disposed = serializers.CharField()
    rinsate = serializers.CharField()
    empties = serializers.IntegerField()
    empties_note = serializers.CharField()


class MixBatchOut(Row):
    crew = NamedRef()
    site = SiteRef()
    work_date = serializers.DateField()
    at = serializers.DateTimeField()
    mix = serializers.CharField(source="mix.code", default=None, allow_null=True)
    mixed_by = NamedRef()
    supervised_by = NamedRef(allow_null=True)
    carrier_ul = serializers.IntegerField()
    volume_ul = serializers.IntegerField()
    container = serializers.CharField()
    notes = serializers.CharField()
    parts = BatchPartOut(many=True)
    day_ends = MixDayEndOut(many=True)


class MixBatchFilter(Filters):
    crew = OfId(field_name="crew__public_id")
    site = OfId(field_name="site__public_id")
    product = OfWord(field_name="parts__product__code", distinct=True)
    day_from = OnDay(field_name="work_date", lookup_expr="gte")
    day_to = OnDay(field_name="work_date", lookup_expr="lte")


class MixBatches(ListEndpoint):
    endpoint = "mix-batches"
    row = MixBatchOut
    filters = MixBatchFilter
    sorts = {"work_date": "work_date"}
    usual_sort = "-work_date"

    def rows(self) -> QuerySet[MixBatch]:
        """Batches of mix with their lots and what was left; a crew lead's are those of own crews."""
        return batches_of(self.actor, on=self.today)


class ApplicationPersonOut(Out):
    id = serializers.UUIDField(source="person.public_id")
    name = serializers.CharField(source="person.name")


class ApplicationOut(Row):
    batch = serializers.UUIDField(source="batch.public_id")
    order = serializers.IntegerField(source="order.number")
    prescription = serializers.UUIDField(source="prescription.public_id", default=None, allow_null=True)
    patch = serializers.CharField(source="prescription.patch.code", default=None, allow_null=True)
    site = SiteRef()
    work_date = serializers.DateField()
    responsible = NamedRef()
    people = ApplicationPersonOut(many=True)
    started_at = serializers.DateTimeField()
    ended_at = serializers.DateTimeField(source="at")
    volume_ul = serializers.IntegerField(help_text="Of the mix.")
    area_m2 = serializers.FloatField(allow_null=True)
    equipment = serializers.CharField()
    minutes_from_cut = serializers.IntegerField(allow_null=True)


class ApplicationFilter(Filters):
    batch = OfId(field_name="batch__public_id")
    order = OfId(field_name="order__public_id")
    site = OfId(field_name="site__public_id")
    responsible = OfId(field_name="responsible__public_id")
    day_from = OnDay(field_name="work_date", lookup_expr="gte")
    day_to = OnDay(field_name="work_date", lookup_expr="lte")


class Applications(ListEndpoint):
    endpoint = "applications"
    row = ApplicationOut
    filters = ApplicationFilter
    sorts = {"work_date": "work_date"}
    usual_sort = "-work_date"

    def rows(self) -> QuerySet[Application]:
        """Uses of mixes on patches that stand; a crew lead's are those of own crews."""
        return applications_of(self.actor, on=self.today)
