"""What crews share, such as sprayers and saws, how many there are, and which methods need them."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfWord
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Text, Whole
from orders.supplies.models import Equipment
from orders.supplies.selectors import equipment, equipment_get
from orders.supplies.services import equipment_add, equipment_edit

MOST = 32_767


class EquipmentNeedOut(Out):
    method = serializers.CharField(source="method.code")
    units_per_crew = serializers.IntegerField()


class EquipmentOut(VersionedRow):
    code = serializers.CharField()
    name = serializers.CharField()
    count = serializers.IntegerField(help_text="In working order; what is in repair does not count.")
    notes = serializers.CharField()
    needs = EquipmentNeedOut(source="method_needs", many=True, help_text="What a crew has with it, by method.")


class EquipmentEdit(Body):
    name = Text(max_length=80, required=False)
    count = Whole(max_value=MOST, required=False)
    notes = Text(max_length=200, required=False, allow_blank=True)


class EquipmentIn(Body):
    code = Text(max_length=50)
    name = Text(max_length=80)
    count = Whole(max_value=MOST)
    notes = Text(max_length=200, required=False, allow_blank=True)


class EquipmentFilter(Filters):
    code = OfWord()


class EquipmentAll(ListEndpoint):
    endpoint = "equipment"
    row = EquipmentOut
    filters = EquipmentFilter
    sorts = {"code": "code", "name": "name"}
    usual_sort = "code"

    def rows(self) -> QuerySet[Equipment]:
        """What crews share and how many there are: no more of it is planned for one day."""
        return equipment().prefetch_related("method_needs__method")

    @writes(EquipmentOut, body=EquipmentIn, located_at="equipment-one")
    def post(self) -> Equipment:
        """Add a kind."""
        return equipment_add(stamp=self.stamp(), **self.body)


class EquipmentOne(Endpoint):
    endpoint = "equipment-one"

    @shows(EquipmentOut)
    def get(self, equipment_id: Any) -> Equipment:
        """One kind."""
        return equipment_get(equipment_id)

    @edits(EquipmentOut, body=EquipmentEdit)
    def patch(self, equipment_id: Any) -> Equipment:
        """Change its name, its count or its notes."""
        row = equipment_get(equipment_id)
        return equipment_edit(equipment=row, values=self.body, expected=self.version_named(row), stamp=self.stamp())
