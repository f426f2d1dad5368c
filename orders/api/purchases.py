"""Purchase orders and bills: finance's alone."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OnDay
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, Row, SiteRef, UserRef, VersionedRow
from orders.bodies.base import Because, Body, many
from orders.bodies.fields import Cents, Choice, Day, Exact, Flag, Id, Text
from orders.costs.purchase_selectors import (
    bill_get,
    bills,
    purchase_get,
    purchase_line_get,
    purchase_orders,
    vendor_get,
)
from orders.costs.selectors import award_get, fund_get
from orders.costs.services.bills import LineBilled, bill_add, bill_approve, bill_pay, bill_void
from orders.costs.services.purchases import (
    LineAsked,
    purchase_approve,
    purchase_close,
    purchase_draft,
    purchase_void,
)
from orders.sites.selectors import site_get
from orders.supplies.selectors import lot_get, product_get
from orders.workorders.selectors import order_get

BOUGHT = ["material", "equipment", "mileage", "contract", "other"]
PURCHASE_STATES = [("draft", "Draft"), ("approved", "Approved"), ("closed", "Closed"), ("void", "Void")]
BILL_STATES = [("draft", "Draft"), ("approved", "Approved"), ("paid", "Paid"), ("void", "Void")]
MOST_LINES = 100


class CodeRef(Row):
    code = serializers.CharField()


class NumberRef(Row):
    number = serializers.IntegerField()


class PurchaseLineOut(Row):
    number = serializers.IntegerField()
    category = serializers.ChoiceField(BOUGHT)
    description = serializers.CharField()
    product = CodeRef(allow_null=True)
    site = SiteRef(allow_null=True)
    work_order = NumberRef(allow_null=True)
    fund = CodeRef()
    award = CodeRef(allow_null=True)
    quantity = serializers.DecimalField(max_digits=12, decimal_places=3)
    unit = serializers.CharField()
    amount_cents = serializers.IntegerField()
    committed_cents = serializers.IntegerField(help_text="What is still committed of it.")


class PurchaseRow(VersionedRow):
    number = serializers.IntegerField()
    vendor = NamedRef()
    state = serializers.ChoiceField(PURCHASE_STATES)
    ordered_on = serializers.DateField()
    wanted_by = serializers.DateField(allow_null=True)
    is_subaward = serializers.BooleanField(help_text="A part of an award that another carries out.")
    note = serializers.CharField()
    total_cents = serializers.IntegerField()
    approved_by = UserRef(allow_null=True)
    approved_at = serializers.DateTimeField(allow_null=True)


class PurchaseOut(PurchaseRow):
    lines = PurchaseLineOut(many=True)


class PurchaseLineIn(Body):
    category = Choice(BOUGHT)
    description = Text(max_length=200)
    amount_cents = Cents(min_value=1)
    fund = Id()
    award = Id(required=False, allow_null=True)
    product = Id(required=False, allow_null=True)
    site = Id(required=False, allow_null=True)
    work_order = Id(required=False, allow_null=True)
    quantity = Exact(max_digits=12, decimal_places=3, required=False)
    unit = Text(max_length=20, required=False)


class PurchaseIn(Body):
    vendor = Id()
    ordered_on = Day()
    wanted_by = Day(required=False, allow_null=True)
    is_subaward = Flag(default=False)
    note = Text(max_length=300, allow_blank=True, default="")
    lines = many(PurchaseLineIn, most=MOST_LINES)


class PurchaseFilter(Filters):
    vendor = OfId(field_name="vendor__public_id")
    state = AnyOf(words=PURCHASE_STATES)


class Buying(Endpoint):
    """What purchases and bills share: whose rows a line names."""

    def named(self, line: dict[str, Any]) -> dict[str, Any]:
        """The line with rows instead of ids."""
        get: dict[str, Callable[[UUID], Any]] = {
            "fund": fund_get,
            "award": award_get,
            "product": product_get,
            "site": site_get,
            "lot": lot_get,
            "work_order": lambda key: order_get(self.actor, key, on=self.today),
            "purchase_line": lambda key: purchase_line_get(self.actor, key),
        }
        return {name: get[name](value) if name in get and value else value for name, value in line.items()}


class PurchaseOrders(ListEndpoint, Buying):
    endpoint = "purchase-orders"
    row = PurchaseRow
    filters = PurchaseFilter
    sorts = {"number": "number", "ordered_on": "ordered_on"}
    usual_sort = "-number"

    def rows(self) -> QuerySet[Any]:
        """What was ordered, the newest first."""
        return purchase_orders(self.actor).prefetch_related(None)

    @writes(PurchaseOut, body=PurchaseIn, names_others=True, located_at="purchase-order")
    def post(self) -> Any:
        """Draft a purchase order. The server gives its number; nothing is committed yet."""
        told = dict(self.body)
        lines = [LineAsked(**self.named(line)) for line in told.pop("lines")]
        vendor = vendor_get(self.actor, told.pop("vendor"))
        made = purchase_draft(vendor=vendor, lines=lines, stamp=self.stamp(), **told)
        return purchase_get(self.actor, made.public_id)


class PurchaseOne(Endpoint):
    endpoint = "purchase-order"

    @shows(PurchaseOut)
    def get(self, purchase_id: Any) -> Any:
        """One purchase order with its lines."""
        return purchase_get(self.actor, purchase_id)


class PurchaseApprove(Endpoint):
    endpoint = "purchase-order-approve"

    @writes(PurchaseOut, status=200)
    def post(self, purchase_id: Any) -> Any:
        """Approve it: its awards are asked, and every line is committed."""
        row = purchase_get(self.actor, purchase_id)
        purchase_approve(purchase=row, posted_on=self.today, stamp=self.stamp())
        return purchase_get(self.actor, purchase_id)


class PurchaseClose(Endpoint):
    endpoint = "purchase-order-close"

    @writes(PurchaseOut, status=200)
    def post(self, purchase_id: Any) -> Any:
        """Nothing more comes: what no bill took down is let go of."""
        purchase_close(purchase=purchase_get(self.actor, purchase_id), posted_on=self.today, stamp=self.stamp())
        return purchase_get(self.actor, purchase_id)


class PurchaseVoid(Endpoint):
    endpoint = "purchase-order-void"

    @writes(PurchaseOut, body=Because, status=200)
    def post(self, purchase_id: Any) -> Any:
        """It was a mistake. While bills stand against it, it is closed instead."""
        row = purchase_get(self.actor, purchase_id)
        purchase_void(purchase=row, posted_on=self.today, stamp=self.stamp(self.body["reason"]))
        return purchase_get(self.actor, purchase_id)


class LotRef(Row):
    lot_number = serializers.CharField()


class BillLineOut(Row):
    number = serializers.IntegerField()
    category = serializers.ChoiceField(BOUGHT)
    description = serializers.CharField()
    purchase_line = Row(allow_null=True)
    lot = LotRef(allow_null=True)
    site = SiteRef(allow_null=True)
    work_order = NumberRef(allow_null=True)
    fund = CodeRef()
    award = CodeRef(allow_null=True)
    amount_cents = serializers.IntegerField()


class BillRow(VersionedRow):
    vendor = NamedRef()
    number = serializers.CharField(help_text="The vendor's.")
    purchase_order = NumberRef(allow_null=True)
    state = serializers.ChoiceField(BILL_STATES)
    billed_on = serializers.DateField()
    due_on = serializers.DateField(allow_null=True)
    worked_on = serializers.DateField(help_text="When the work was done or the goods came.")
    total_cents = serializers.IntegerField()
    note = serializers.CharField()
    approved_by = UserRef(allow_null=True)
    approved_at = serializers.DateTimeField(allow_null=True)
    paid_on = serializers.DateField(allow_null=True)


class BillOut(BillRow):
    lines = BillLineOut(many=True)


class BillLineIn(Body):
    category = Choice(BOUGHT)
    description = Text(max_length=200)
    amount_cents = Cents(min_value=1)
    fund = Id()
    award = Id(required=False, allow_null=True)
    purchase_line = Id(required=False, allow_null=True)
    lot = Id(required=False, allow_null=True, help_text="It pays for this lot of stock, and is no cost yet.")
    site = Id(required=False, allow_null=True)
    work_order = Id(required=False, allow_null=True)


class BillIn(Body):
    vendor = Id()
    number = Text(max_length=60)
    purchase_order = Id(required=False, allow_null=True)
    billed_on = Day()
    due_on = Day(required=False, allow_null=True)
    worked_on = Day()
    total_cents = Cents(help_text="The lines sum to it.")
    note = Text(max_length=300, allow_blank=True, default="")
    lines = many(BillLineIn, most=MOST_LINES)


class BillPaid(Body):
    paid_on = Day()


class BillFilter(Filters):
    vendor = OfId(field_name="vendor__public_id")
    state = AnyOf(words=BILL_STATES)
    day_from = OnDay(field_name="billed_on", lookup_expr="gte")
    day_to = OnDay(field_name="billed_on", lookup_expr="lte")


class Bills(ListEndpoint, Buying):
    endpoint = "bills"
    row = BillRow
    filters = BillFilter
    sorts = {"billed_on": "billed_on", "id": "id"}
    usual_sort = "-billed_on"

    def rows(self) -> QuerySet[Any]:
        """What contractors and suppliers billed, the newest first."""
        return bills(self.actor).prefetch_related(None)

    @writes(BillOut, body=BillIn, names_others=True, located_at="bill")
    def post(self) -> Any:
        """Add a bill with its lines. A vendor's number stands once."""
        told = dict(self.body)
        lines = [LineBilled(**self.named(line)) for line in told.pop("lines")]
        vendor = vendor_get(self.actor, told.pop("vendor"))
        ordered = told.pop("purchase_order", None)
        purchase = purchase_get(self.actor, ordered) if ordered else None
        made = bill_add(vendor=vendor, purchase_order=purchase, lines=lines, stamp=self.stamp(), **told)
        return bill_get(self.actor, made.public_id)


class BillOne(Endpoint):
    endpoint = "bill"

    @shows(BillOut)
    def get(self, bill_id: Any) -> Any:
        """One bill with its lines."""
        return bill_get(self.actor, bill_id)


class BillApprove(Endpoint):
    endpoint = "bill-approve"

    @writes(BillOut, status=200)
    def post(self, bill_id: Any) -> Any:
        """Approve it: its costs are posted, and its purchase order is taken down by as much."""
        bill_approve(bill=bill_get(self.actor, bill_id), posted_on=self.today, stamp=self.stamp())
        return bill_get(self.actor, bill_id)


class BillPay(Endpoint):
    endpoint = "bill-pay"

    @writes(BillOut, body=BillPaid, status=200)
    def post(self, bill_id: Any) -> Any:
        """The money went out, from the funds that its lines are charged to."""
        row = bill_get(self.actor, bill_id)
        bill_pay(bill=row, paid_on=self.body["paid_on"], posted_on=self.today, stamp=self.stamp())
        return bill_get(self.actor, bill_id)


class BillVoid(Endpoint):
    endpoint = "bill-void"

    @writes(BillOut, body=Because, status=200)
    def post(self, bill_id: Any) -> Any:
        """Take back all that it posted; then it may be entered anew."""
        row = bill_get(self.actor, bill_id)
        bill_void(bill=row, posted_on=self.today, stamp=self.stamp(self.body["reason"]))
        return bill_get(self.actor, bill_id)
