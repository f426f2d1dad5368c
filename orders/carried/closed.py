"""What a closed order's crew stated, as an amendment begins with it: on any of the crew's tablets, not only on the one
that closed it."""

from collections.abc import Sequence
from typing import Any

from orders.planning.models import Prescription
from orders.workorders.models import CloseOut, MaterialUse, PatchOutcome, TimeEntry, WorkOrder


def closes_standing(orders: Sequence[WorkOrder]) -> dict[int, CloseOut]:
    """The revision that counts, by the order's key."""
    rows = CloseOut.objects.filter(order__in=orders, amended_by__isnull=True).prefetch_related(
        "outcomes__prescription",
        "time_entries__visit",
        "time_entries__person",
        "time_entries__prescription",
        "material_uses__visit",
        "material_uses__prescription",
        "material_uses__lot__product",
    )
    return {close.order_id: close for close in rows.order_by("order_id", "revision")}


def close_shown(close: CloseOut | None) -> dict[str, Any] | None:
    """`lots`: those that were used, whether or not any of them is left."""
    if close is None:
        return None
    lots = {use.lot_id: use.lot for use in close.material_uses.all()}
    return {
        "id": str(close.public_id),
        "revision": close.revision,
        "confirmed_by": close.confirmed_by,
        "work_date": close.work_date.isoformat(),
        "statement": _statement(close),
        "lots": [
            {"id": str(lot.public_id), "product": lot.product.code, "lot_number": lot.lot_number}
            for lot in lots.values()
        ],
    }


def _statement(close: CloseOut) -> dict[str, Any]:
    return {
        "id": str(close.public_id),
        "work_date": close.work_date.isoformat(),
        "happened_at": close.happened_at.isoformat(),
        "confirmed_by": close.confirmed_by,
        "outcomes": [_outcome(row) for row in close.outcomes.all()],
        "times": [_time(row) for row in close.time_entries.all()],
        "materials": [_material(row) for row in close.material_uses.all()],
        "condition": close.condition,
        "weather": close.weather,
        "follow_up_wanted": close.follow_up_wanted,
        "notes": close.notes,
        "reason": close.reason,
    }


def _outcome(row: PatchOutcome) -> dict[str, Any]:
    return {
        "prescription": str(row.prescription.public_id),
        "percent_complete": row.percent_complete,
        "stems_cut": row.stems_cut,
        "area_done_m2": row.area_done_m2,
        "drawn": row.drawn,
    }


def _time(row: TimeEntry) -> dict[str, Any]:
    return {
        "visit": str(row.visit.public_id),
        "person": str(row.person.public_id),
        "minutes": row.minutes,
        "origin": row.origin,
        "prescription": _id(row.prescription),
        "step": row.step,
        "work_date": row.work_date.isoformat(),
    }


def _material(row: MaterialUse) -> dict[str, Any]:
    return {
        "visit": str(row.visit.public_id),
        "lot": str(row.lot.public_id),
        "value": f"{row.entered_value.normalize():f}",
        "unit": row.entered_unit,
        "prescription": _id(row.prescription),
        "work_date": row.work_date.isoformat(),
    }


def _id(prescription: Prescription | None) -> str | None:
    return str(prescription.public_id) if prescription else None
