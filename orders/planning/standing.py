"""The parts of visits that stand, and what a new plan may do with each."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from orders.planning.models import Prescription, Season, Visit, VisitShare

FIXED, PREVIOUS, CALLED_OFF, ASKED, SETTLED = "fixed", "previous", "called off", "asked", "settled"
OPEN_ORDERS = ("draft", "issued", "underway")


@dataclass(frozen=True)
class Standing:
    """One prescription's part of a visit. `how`: fixed, previous (it may move) or called off (it needs another day)."""

    share: VisitShare
    how: str

    @property
    def id(self) -> str:
        """The planner's id of it."""
        return f"{self.prescription.public_id}@{self.visit.public_id}"

    @property
    def visit(self) -> Visit:
        return self.share.visit

    @property
    def prescription(self) -> Prescription:
        return self.share.prescription


@dataclass(frozen=True)
class Stands:
    """The parts that the planner is told of, and by prescription the share that is taken care of."""

    parts: tuple[Standing, ...]
    served: Mapping[int, float]


def standing_parts(season: Season, *, mode: str, from_day: date | None) -> Stands:
    """`mode`: plan, again or what_if. Days before `from_day` are over: what stands there stays."""
    parts: list[Standing] = []
    served: dict[int, float] = defaultdict(float)
    for share in shares_standing(season):
        inside = season.first_day <= share.visit.day <= season.last_day
        how = _how(share.visit, _order_state(share.visit), mode, from_day) if inside else SETTLED
        if how in (FIXED, PREVIOUS, CALLED_OFF):
            parts.append(Standing(share, how))
        if how != ASKED:
            served[share.prescription_id] += share.share
    return Stands(tuple(parts), served)


def shares_standing(season: Season) -> list[VisitShare]:
    """What standing visits serve, prescriptions that were dropped left out."""
    rows = VisitShare.objects.filter(
        visit__season=season, visit__state__in=["planned", "ordered", "done", "not_done"]
    ).exclude(prescription__state="dropped")
    related = (
        "visit__crew",
        "visit__site",
        "visit__order_visit__order",
        "prescription__patch__site__jurisdiction",
        "prescription__method__qualification",
        "prescription__estimate__survey",
        "prescription__fund",
        "prescription__follows__patch",
    )
    heavy = ("inputs", "result", "products_ul", "survey__geometry")
    rows = rows.select_related(*related).defer(
        "visit__site__boundary", "prescription__patch__site__boundary", *(f"prescription__estimate__{n}" for n in heavy)
    )
    return list(rows.order_by("visit__day", "visit_id", "prescription_id"))


def _order_state(visit: Visit) -> str:
    on_order = getattr(visit, "order_visit", None)
    return "" if on_order is None else str(on_order.order.state)


def _how(visit: Visit, order_state: str, mode: str, from_day: date | None) -> str:
    if visit.state == "not_done":
        return CALLED_OFF if mode != "plan" and order_state in OPEN_ORDERS else SETTLED
    over = from_day is not None and visit.day < from_day
    if visit.state == "done" or visit.is_kept or over or order_state == "underway":
        return FIXED
    if mode == "plan":
        return FIXED if visit.state == "ordered" else ASKED
    return PREVIOUS if mode == "again" else ASKED
