"""Days on which products were used on patches, by the close-outs that stand."""

from collections import defaultdict
from datetime import date

from orders.planning.models import VisitShare
from orders.workorders.models import MaterialUse


def herbicide_use_days() -> dict[tuple[int, str], list[date]]:
    """By the patch's key and the product's code. Where the crew did not say which patch, all of the visit's count."""
    used = MaterialUse.objects.filter(
        lot__product__is_herbicide=True, close_out__amended_by__isnull=True, close_out__order__state="closed"
    ).order_by("work_date", "id")
    rows = list(used.values_list("prescription__patch_id", "visit_id", "lot__product__code", "work_date"))
    patches = _patches_of_visits({visit_id for patch_id, visit_id, *_ in rows if patch_id is None})
    found: dict[tuple[int, str], list[date]] = defaultdict(list)
    for patch_id, visit_id, code, on in rows:
        for patch in patches[visit_id] if patch_id is None else [patch_id]:
            if on not in found[patch, code]:
                found[patch, code].append(on)
    return dict(found)


def _patches_of_visits(visit_ids: set[int]) -> dict[int, list[int]]:
    found: dict[int, list[int]] = defaultdict(list)
    shares = VisitShare.objects.filter(visit__in=visit_ids).order_by("id")
    for visit_id, patch_id in shares.values_list("visit_id", "prescription__patch_id"):
        found[visit_id].append(patch_id)
    return found
