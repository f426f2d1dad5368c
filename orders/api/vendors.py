"""Vendors, and how stock is valued."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, YesNo
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Row, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Choice, Day, Flag, Text
from orders.costs.purchase_selectors import stock_policies, vendor_get, vendors
from orders.costs.services import stock_policy_set
from orders.costs.services.vendors import vendor_add, vendor_edit

VENDOR_KINDS = [("contractor", "Contractor"), ("supplier", "Supplier")]
VALUATIONS = [("lot", "Price of the lot"), ("fifo", "First in, first out"), ("average", "Moving average")]


class VendorOut(VersionedRow):
    name = serializers.CharField()
    kind = serializers.ChoiceField(VENDOR_KINDS)
    contact = serializers.CharField()
    is_active = serializers.BooleanField(help_text="Whether anything more is bought there.")


class VendorIn(Body):
    name = Text(max_length=120)
    kind = Choice(VENDOR_KINDS)
    contact = Text(max_length=200, required=False, allow_blank=True)


class VendorEdit(Body):
    name = Text(max_length=120, required=False)
    contact = Text(max_length=200, required=False, allow_blank=True)
    is_active = Flag(required=False)


class VendorFilter(Filters):
    kind = AnyOf(words=VENDOR_KINDS)
    is_active = YesNo()


class Vendors(ListEndpoint):
    endpoint = "vendors"
    row = VendorOut
    filters = VendorFilter
    sorts = {"name": "name", "id": "id"}
    usual_sort = "name"

    def rows(self) -> QuerySet[Any]:
        """Contractors and suppliers."""
        return vendors(self.actor)

    @writes(VendorOut, body=VendorIn, located_at="vendor")
    def post(self) -> Any:
        """Add a vendor."""
        return vendor_add(stamp=self.stamp(), **self.body)


class VendorOne(Endpoint):
    endpoint = "vendor"

    @shows(VendorOut)
    def get(self, vendor_id: Any) -> Any:
        """One vendor."""
        return vendor_get(self.actor, vendor_id)

    @edits(VendorOut, body=VendorEdit)
    def patch(self, vendor_id: Any) -> Any:
        """Change name, contact, or whether anything more is bought there."""
        row = vendor_get(self.actor, vendor_id)
        return vendor_edit(vendor=row, values=self.body, expected=self.version_named(row), stamp=self.stamp())


class StockPolicyOut(Row):
    from_day = serializers.DateField()
    valuation = serializers.ChoiceField(VALUATIONS)
    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again


class StockPolicyIn(Body):
    from_day = Day()
    valuation = Choice(VALUATIONS)
    source = Text(max_length=200)  # type: ignore[assignment]


class StockPolicies(ListEndpoint):
    endpoint = "stock-policies"
    row = StockPolicyOut
    sorts = {"from_day": "from_day"}
    usual_sort = "-from_day"

    def rows(self) -> QuerySet[Any]:
        """How stock that leaves is valued; without one, at the price of its lot."""
        return stock_policies(self.actor)

    @writes(StockPolicyOut, body=StockPolicyIn)
    def post(self) -> Any:
        """Set the valuation from a day on, from which no stock was valued yet."""
        return stock_policy_set(stamp=self.stamp(), **self.body)
