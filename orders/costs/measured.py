"""What people measured, and which of a close-out's own rows it stands instead of."""

from uuid import NAMESPACE_URL, UUID, uuid5

from orders.costs.models import EquipmentHours, Trip
from orders.planning.models import Visit
from orders.workorders.models import WorkOrder

DRIVE, METHOD = "visit_drive", "visit_equipment"


def method_source(visit: Visit, method_code: str) -> UUID:
    """The source of a method's equipment on a visit."""
    return uuid5(NAMESPACE_URL, f"{visit.public_id}/{method_code}")


def measured_sources(order: WorkOrder) -> set[tuple[str, UUID]]:
    """The rows that a close-out of the order leaves out, since hours or miles of the same were measured."""
    hours = EquipmentHours.objects.filter(order=order, replaced_by__isnull=True).exclude(method_code="")
    trips = Trip.objects.filter(visit__order_visit__order=order, replaced_by__isnull=True)
    found = {(METHOD, method_source(row.visit, row.method_code)) for row in hours.select_related("visit")}
    return found | {(DRIVE, trip.visit.public_id) for trip in trips.select_related("visit") if trip.visit}
