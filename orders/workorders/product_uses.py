"""Days on which herbicides were used on patches: by what crews said of each use, else by the close-outs that stand."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from django.db.models import Q

from orders.planning.models import VisitShare
from orders.workorders.models import Application, MaterialUse

OF_PRODUCT = "batch__parts__product"


def herbicide_use_days() -> dict[tuple[int, str], list[date]]:
    """By the patch's key and the product's code. Where the crew did not say which patch, all of the visit's count, or
    of the order's. An order whose uses were told one by one counts by those alone, closed or not: its close-out states
    the same product again."""
    applied = _applied()
    told = {(order_id, code) for order_id, _, _, code, _ in applied}
    rows = [*applied, *(row for row in _stated() if (row[0], row[3]) not in told)]
    served = _patches_served(rows)
    found: dict[tuple[int, str], set[date]] = defaultdict(set)
    for order_id, visit_id, patch_id, code, on in rows:
        for patch in served[order_id, visit_id] if patch_id is None else [patch_id]:
            found[patch, code].add(on)
    return {key: sorted(days) for key, days in found.items()}


Row = tuple[int, int | None, int | None, str, date]  # order, visit, patch, product, day


def _applied() -> list[Row]:
    rows = Application.objects.filter(**{f"{OF_PRODUCT}__is_herbicide": True}, replaced_by__isnull=True)
    columns = ("order_id", "visit_id", "prescription__patch_id", f"{OF_PRODUCT}__code", "work_date")
    return list(rows.order_by("work_date", "id").values_list(*columns))


def _stated() -> list[Row]:
    rows = MaterialUse.objects.filter(
        lot__product__is_herbicide=True, close_out__amended_by__isnull=True, close_out__order__state="closed"
    )
    columns = ("close_out__order_id", "visit_id", "prescription__patch_id", "lot__product__code", "work_date")
    return list(rows.order_by("work_date", "id").values_list(*columns))


def _patches_served(rows: Iterable[Row]) -> dict[tuple[int, int | None], set[int]]:
    """Of each visit that is asked for, and of each order as a whole."""
    open_ended = {order_id for order_id, _, patch_id, _, _ in rows if patch_id is None}
    visits = {visit_id for _, visit_id, patch_id, _, _ in rows if patch_id is None and visit_id is not None}
    wanted = Q(visit__order_visit__order__in=open_ended) | Q(visit__in=visits)
    found: dict[tuple[int, int | None], set[int]] = defaultdict(set)
    shares = VisitShare.objects.filter(wanted).order_by("id")
    columns = ("visit__order_visit__order", "visit_id", "prescription__patch_id")
    for order_id, visit_id, patch_id in shares.values_list(*columns):
        found[order_id, visit_id].add(patch_id)
        found[order_id, None].add(patch_id)
    return found
