"""Orders and close-outs as the uses of products that the label guard sums."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from estimating.labels import Application
from orders.estimates.convert import ANSWERS
from orders.planning.models import Prescription, VisitShare
from orders.supplies.models import Product
from orders.workorders.models import CloseOut, MaterialUse, WorkOrder
from orders.workorders.selectors import order_patch_ids, order_shares

OPEN_STATES = ("issued", "underway")


def proposed_uses(order: WorkOrder) -> list[Application]:
    """What the order would put on each patch on each day, by its estimates."""
    herbicides = set(Product.objects.filter(is_herbicide=True).values_list("code", flat=True))
    return [use for share in order_shares(order) for use in _uses_of_share(order, share, herbicides)]


def _uses_of_share(order: WorkOrder, share: VisitShare, herbicides: set[str]) -> Iterable[Application]:
    asked = share.prescription
    estimate = asked.estimate
    part = share.share * asked.share_left
    strengths = {} if estimate.mix is None else _strengths(estimate.inputs["mix"])
    for code, microliters in sorted(estimate.products_ul.items()):
        if code in herbicides:
            yield Application(
                row=f"work order {order.number}, {asked.patch} on {share.visit.day}",
                product=code,
                on=share.visit.day,
                product_l=microliters * part / 1e6,
                percent_vv=strengths.get(code),
                treated_area_m2=max(estimate.treated_area_m2 * part, 0.01),
                **_ground(asked, order),
            )


def _strengths(mix: dict[str, Any]) -> dict[str, float | None]:
    return {part["product"]: part["percent_vv"] for part in mix["parts"]}


def _ground(asked: Prescription, order: WorkOrder) -> dict[str, Any]:
    survey = asked.estimate.survey
    return {
        "patch": str(asked.patch.public_id),
        "method": asked.method.code,
        "site_area_m2": survey.gross_area_m2,
        "state": order.site.jurisdiction.code,
        "distance_to_water_m": survey.distance_to_water_m,
        "desirable_tree_roots": ANSWERS[survey.desirable_tree_roots],
    }


def prior_uses(order: WorkOrder) -> list[Application]:
    """What was put on the same patches before, by their close-outs, and what other open orders there would put."""
    patches = order_patch_ids([order])
    others = WorkOrder.objects.exclude(pk=order.pk).select_related("site__jurisdiction")
    on_same = others.filter(order_visits__visit__shares__prescription__patch__in=patches).distinct().order_by("number")
    uses = [use for other in on_same.filter(state__in=OPEN_STATES) for use in proposed_uses(other)]
    closed = CloseOut.objects.filter(order__in=on_same.filter(state="closed"), amended_by__isnull=True)
    uses += [use for close_out in closed.order_by("id") for use in _applied(close_out)]
    return [use for use in uses if use.patch in _public_ids(order)]


def _public_ids(order: WorkOrder) -> set[str]:
    return {str(share.prescription.patch.public_id) for share in order_shares(order)}


def _applied(close_out: CloseOut) -> Iterable[Application]:
    """Material as used; where the crew did not say which patch, all of the visit's patches count in full: the worst."""
    order = close_out.order
    shares: dict[int, list[VisitShare]] = defaultdict(list)
    for share in order_shares(order):
        shares[share.visit_id].append(share)
    for use in close_out.material_uses.select_related("lot__product", "prescription").order_by("id"):
        if use.lot.product.is_herbicide and use.lot.unit == "uL":
            for share in shares[use.visit_id]:
                if use.prescription_id in {None, share.prescription_id}:
                    yield _application(use, share, order)


def _application(use: MaterialUse, share: VisitShare, order: WorkOrder) -> Application:
    asked = share.prescription
    return Application(
        row=f"work order {order.number}, used on {use.work_date}",
        product=use.lot.product.code,
        on=use.work_date,
        product_l=use.amount / 1e6,
        treated_area_m2=max(asked.estimate.treated_area_m2 * share.share * asked.share_left, 0.01),
        **_ground(asked, order),
    )
