"""Reads of what is bought and what was measured. Amounts are finance's; hours and miles are also the desk's."""

from typing import TypeVar
from uuid import UUID

from django.db import models
from django.db.models import Q, QuerySet, Sum, Value
from django.db.models.functions import Coalesce

from orders.common.errors import NotFound, RoleMissing
from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, FINANCE
from orders.costs.models import (
    Bill,
    BillLine,
    EquipmentHours,
    PurchaseLine,
    PurchaseOrder,
    StockPolicy,
    Trip,
    Vendor,
)
from orders.costs.selectors import costs_open_to

Row = TypeVar("Row", bound=models.Model)


def _get(rows: QuerySet[Row], row_id: UUID, what: str) -> Row:
    found = rows.filter(public_id=row_id).first()
    if found is None:
        raise NotFound(f"There is no such {what}.")
    return found


def vendors(actor: User) -> QuerySet[Vendor]:
    costs_open_to(actor)
    return Vendor.objects.order_by("name")


def vendor_get(actor: User, vendor_id: UUID) -> Vendor:
    return _get(vendors(actor), vendor_id, "vendor")


LINES = PurchaseLine.objects.select_related(
    "product", "site", "work_order__site", "work_order__crew", "fund", "award"
).annotate(committed_cents=Coalesce(Sum("commitments__amount_cents"), Value(0)))


def purchase_orders(actor: User) -> QuerySet[PurchaseOrder]:
    """With their lines, and what is still committed of each."""
    costs_open_to(actor)
    lines = models.Prefetch("lines", queryset=LINES.order_by("number"))
    totals = Coalesce(Sum("lines__amount_cents"), Value(0))
    rows = PurchaseOrder.objects.select_related("vendor", "approved_by").prefetch_related(lines)
    return rows.annotate(total_cents=totals).order_by("-number")


def purchase_get(actor: User, purchase_id: UUID) -> PurchaseOrder:
    return _get(purchase_orders(actor), purchase_id, "purchase order")


def purchase_line_get(actor: User, line_id: UUID) -> PurchaseLine:
    costs_open_to(actor)
    return _get(PurchaseLine.objects.select_related("order"), line_id, "line of a purchase order")


def bills(actor: User) -> QuerySet[Bill]:
    costs_open_to(actor)
    related = "fund", "award", "site", "lot__product", "work_order", "purchase_line__order"
    lines = models.Prefetch("lines", queryset=BillLine.objects.select_related(*related).order_by("number"))
    rows = Bill.objects.select_related("vendor", "purchase_order", "approved_by")
    return rows.prefetch_related(lines).order_by("-billed_on", "-id")


def bill_get(actor: User, bill_id: UUID) -> Bill:
    return _get(bills(actor), bill_id, "bill")


def measured_open_to(actor: User) -> None:
    if not actor.has_role(FINANCE, ADMINISTRATOR, COORDINATOR):
        raise RoleMissing("Equipment hours and trips are open to the desk and to finance.")


def equipment_hours(actor: User) -> QuerySet[EquipmentHours]:
    """Those that stand and those that were replaced, the newest first. No amount is in them."""
    measured_open_to(actor)
    rows = EquipmentHours.objects.select_related("equipment", "order", "visit", "by", "replaces", "replaced_by")
    return rows.order_by("-id")


def equipment_hours_get(actor: User, hours_id: UUID) -> EquipmentHours:
    return _get(equipment_hours(actor), hours_id, "entry of equipment hours")


def trips(actor: User) -> QuerySet[Trip]:
    measured_open_to(actor)
    rows = Trip.objects.select_related("order", "visit", "person", "by", "replaces", "replaced_by")
    return rows.order_by("-id")


def trip_get(actor: User, trip_id: UUID) -> Trip:
    return _get(trips(actor), trip_id, "trip")


def stock_policies(actor: User) -> QuerySet[StockPolicy]:
    costs_open_to(actor)
    return StockPolicy.objects.order_by("-from_day")


def standing() -> Q:
    """Of measured rows: those that no correction replaced."""
    return Q(replaced_by__isnull=True)
