"""Orders, close-outs and estimates as the uses of products that the label guard sums, each with its outline."""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Max, Q, QuerySet

from estimating.label_sums import Ground, grounds_by_patch
from estimating.labels import Application
from orders.estimates.convert import ANSWERS
from orders.estimates.models import Estimate
from orders.planning.models import Prescription, Visit, VisitShare
from orders.sites.models import Survey
from orders.sites.overlaps import Outline, box_degrees, grounds, meters_a_degree
from orders.supplies.models import Product
from orders.workorders.models import CloseOut, MaterialUse, PatchOutcome, WorkOrder

OPEN_STATES = ("issued", "underway")
LEAST_AREA_M2 = 0.01  # a share of nothing still divides
DRY = "it was measured by weight, and this program sums liters: a licensed person must count it by hand."


@dataclass(frozen=True)
class UseOnGround:
    """One use of a product, and where: the outline of the survey that its estimate rests on."""

    use: Application
    patch_id: int
    survey_id: int
    outline: Outline


def herbicide_codes() -> set[str]:
    return set(Product.objects.filter(is_herbicide=True).values_list("code", flat=True))


def proposed_uses(order: WorkOrder) -> list[UseOnGround]:
    """What the order would put on each patch on each day, by its estimates."""
    herbicides = herbicide_codes()
    shares = VisitShare.objects.filter(visit__order_visit__order=order).exclude(visit__state="dropped")
    return [use for share in _with_ground(shares) for use in _uses_of_share(share, order.number, herbicides)]


def visit_uses(visit: Visit, order: WorkOrder | None, day: date) -> list[UseOnGround]:
    """What a visit, and the rest of its order, would put on the ground if the visit were on that day."""
    herbicides = herbicide_codes()
    shares = VisitShare.objects.filter(Q(visit=visit) | Q(visit__order_visit__order=order, visit__state="ordered"))
    found: list[UseOnGround] = []
    for share in _with_ground(shares if order else VisitShare.objects.filter(visit=visit)):
        if share.visit_id == visit.pk:
            share.visit.day = day
        found += _uses_of_share(share, order.number if order else 0, herbicides)
    return found


def _uses_of_share(share: VisitShare, number: int, herbicides: set[str]) -> Iterator[UseOnGround]:
    asked = share.prescription
    row = f"work order {number}, {asked.patch} by {asked.method} on {share.visit.day}"
    part = share.share * asked.share_left
    yield from _uses(asked.estimate, herbicides, row=row, on=share.visit.day, part=part, work=_work(asked))


def placed_uses(asked: Prescription, share: float, day: date) -> list[UseOnGround]:
    """What a part of a prescription would put on its patch on a day, on no order yet."""
    row = f"{asked.patch} by {asked.method} on {day}"
    part = share * asked.share_left
    return list(_uses(asked.estimate, herbicide_codes(), row=row, on=day, part=part, work=_work(asked)))


def _work(asked: Prescription) -> str:
    """One pass over the patch: a prescription, and what of it was left over and asked for again."""
    while asked.origin == "remainder" and asked.follows is not None:
        asked = asked.follows
    return str(asked.public_id)


def estimate_uses(estimate: Estimate, herbicides: set[str], *, on: date) -> list[UseOnGround]:
    """What the estimate would put on its patch if the work were done in one visit on a day."""
    row = f"estimate of {estimate.survey.patch} by {estimate.method} on {on}"
    return list(_uses(estimate, herbicides, row=row, on=on, part=1.0))


def _uses(
    estimate: Estimate, herbicides: set[str], *, row: str, on: date, part: float, work: str = ""
) -> Iterator[UseOnGround]:
    strengths = _strengths(estimate)
    for code, microliters in sorted(estimate.products_ul.items()):
        if code in herbicides:
            yield _on_ground(
                estimate,
                row=row,
                product=code,
                on=on,
                product_l=microliters * part / 1e6,
                percent_vv=strengths.get(code),
                treated_area_m2=estimate.treated_area_m2 * part,
                work=work,
            )


def _strengths(estimate: Estimate) -> Mapping[str, float | None]:
    mix = estimate.inputs.get("mix") if estimate.mix_id else None
    return {part["product"]: part["percent_vv"] for part in mix["parts"]} if mix else {}


def _on_ground(estimate: Estimate, *, row: str, treated_area_m2: float, **facts: Any) -> UseOnGround:
    """The infested area is the largest component's: components may lie on the same ground, and the smaller area is the
    cautious one. A point is a circle of its gross area: the work may be anywhere within it."""
    survey, patch = estimate.survey, estimate.survey.patch
    infested_m2 = max((part.infested_area_m2 for part in survey.components.all()), default=0.0)
    use = Application(
        row=row,
        patch=str(patch.public_id),
        method=estimate.method.code,
        state=patch.site.jurisdiction.code,
        treated_area_m2=max(treated_area_m2, LEAST_AREA_M2),
        work_area_m2=max(estimate.treated_area_m2, LEAST_AREA_M2),
        infested_area_m2=infested_m2 or None,
        gross_area_m2=survey.gross_area_m2,
        distance_to_water_m=survey.distance_to_water_m,
        desirable_tree_roots=ANSWERS[survey.desirable_tree_roots],
        **facts,
    )
    return UseOnGround(use, patch.pk, survey.pk, Outline(key=row, geometry=survey.geometry, area_m2=use.gross_area_m2))


def ground_sets(uses: Sequence[UseOnGround]) -> list[Ground]:
    """Rows that hit one piece of ground, by the shapes; and rows of one patch, wherever its surveys drew it: a patch
    that was drawn anew beside its old outline keeps its history."""
    outlines = {(each.use.row, each.survey_id): each.outline for each in uses}
    return [*grounds(list(outlines.values())), *grounds_by_patch(each.use for each in uses)]


def prior_uses(proposed: Sequence[UseOnGround], *, leave_out: WorkOrder | None = None) -> list[UseOnGround]:
    """What was put near the proposed uses before, by the close-outs, and what open orders there would put."""
    if not proposed:
        return []
    near = VisitShare.objects.filter(_near(proposed)).exclude(visit__state="dropped")
    if leave_out is not None:
        near = near.exclude(visit__order_visit__order=leave_out)
    return [*_open_uses(near), *_applied_uses(near)]


def _near(proposed: Sequence[UseOnGround]) -> Q:
    """Surveys whose box comes near the proposed ones', or of the same patches. Points are stored without their circles:
    all boxes are widened by the widest circle that any survey could have."""
    boxes = [box_degrees(each.outline) for each in proposed]
    west, south, east, north = (list(edges) for edges in zip(*boxes, strict=True))
    largest_m2 = Survey.objects.aggregate(largest=Max("gross_area_m2"))["largest"] or 0.0
    reach_m = math.sqrt(largest_m2 / math.pi)
    east_m, north_m = meters_a_degree(max(map(abs, south + north)))
    box = {
        "max_lon__gte": min(west) - reach_m / east_m,
        "min_lon__lte": max(east) + reach_m / east_m,
        "max_lat__gte": min(south) - reach_m / north_m,
        "min_lat__lte": max(north) + reach_m / north_m,
    }
    # Two lists of keys, each found by its own index: one condition over both would read every visit there is.
    within = Prescription.objects.filter(estimate__survey__in=Survey.objects.filter(**box).values("pk"))
    of_patches = Prescription.objects.filter(patch__in={each.patch_id for each in proposed})
    return Q(prescription__in=within.values("pk")) | Q(prescription__in=of_patches.values("pk"))


# Of a use on the ground neither the order's papers, nor outlines of sites, nor what made the estimate are asked.
NOT_OF_GROUND = (
    "visit__order_visit__order__label",
    "prescription__patch__site__boundary",
    "prescription__method__facts",
    "prescription__estimate__result",
    "prescription__estimate__form_shares",
    "prescription__estimate__method__facts",
    "prescription__estimate__survey__patch_said",
    "prescription__estimate__survey__patch__site__boundary",
)


def _with_ground(shares: QuerySet[VisitShare]) -> QuerySet[VisitShare]:
    related = shares.select_related(
        "visit__order_visit__order",
        "prescription__patch__site",
        "prescription__follows",
        "prescription__method",
        "prescription__estimate__method",
        "prescription__estimate__survey__patch__site__jurisdiction",
    )
    related = related.defer(*NOT_OF_GROUND).order_by("visit__order_visit__order__number", "visit__day", "id")
    return related.prefetch_related("prescription__estimate__survey__components")


def _open_uses(near: QuerySet[VisitShare]) -> Iterator[UseOnGround]:
    """Visits that were called off put nothing down; what is done instead is on another visit."""
    herbicides = herbicide_codes()
    shares = near.filter(visit__order_visit__order__state__in=OPEN_STATES).exclude(visit__state="not_done")
    for share in _with_ground(shares):
        yield from _uses_of_share(share, share.visit.order_visit.order.number, herbicides)


def _applied_uses(near: QuerySet[VisitShare]) -> Iterator[UseOnGround]:
    """Material as used; where the crew did not say which patch, all of the visit's patches count in full: the worst."""
    standing = CloseOut.objects.filter(order__state="closed", amended_by__isnull=True)
    used = MaterialUse.objects.filter(close_out__in=standing, lot__product__is_herbicide=True)
    closed = near.filter(visit__order_visit__order__state="closed", visit__in=used.values("visit"))
    shares: dict[int, list[VisitShare]] = defaultdict(list)
    for share in _with_ground(closed).defer("prescription__estimate__inputs", "prescription__estimate__products_ul"):
        shares[share.visit_id].append(share)
    used = used.filter(visit__in=shares)
    done = _percent_done(standing.filter(order__order_visits__visit__in=shares))
    for use in used.select_related("lot__product").order_by("id"):
        for share in shares[use.visit_id]:
            if use.prescription_id in {None, share.prescription_id}:
                yield _applied(use, share, done.get((use.close_out_id, share.prescription_id)))


def _percent_done(standing: QuerySet[CloseOut]) -> dict[tuple[int, int], int]:
    outcomes = PatchOutcome.objects.filter(close_out__in=standing).order_by()
    columns = outcomes.values_list("close_out_id", "prescription_id", "percent_complete")
    return {(close_out, prescription): percent for close_out, prescription, percent in columns}


def _applied(use: MaterialUse, share: VisitShare, percent_done: int | None) -> UseOnGround:
    """What was used on the part that got done: the rate there is higher than over the whole."""
    asked = share.prescription
    part = share.share * asked.share_left * ((percent_done or 100) / 100)
    is_dry = use.lot.unit != "uL"
    return _on_ground(
        asked.estimate,
        row=f"work order {share.visit.order_visit.order.number}, {asked.patch} by {asked.method}, used {use.work_date}",
        product=use.lot.product.code,
        on=use.work_date,
        product_l=0.0 if is_dry else use.amount / 1e6,
        treated_area_m2=asked.estimate.treated_area_m2 * part,
        work=_work(asked),
        uncounted=DRY if is_dry else "",
    )


def rows_of(uses: Iterable[UseOnGround]) -> set[str]:
    return {each.use.row for each in uses}
