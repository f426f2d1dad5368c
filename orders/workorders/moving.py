"""Writes of an order whose visits move: to other days, off the order, or in part."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from orders.common.changes import change_record, version_bump
from orders.common.errors import WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Crew
from orders.planning.again import visit_cut
from orders.planning.models import Prescription, Visit, VisitShare
from orders.planning.services import prescription_reopen, visit_move, visit_settle
from orders.workorders.models import OrderVisit, WorkOrder
from orders.workorders.selectors import order_visits
from orders.workorders.services import order_draft, order_void

NOT_STARTED = ("draft", "issued")


@dataclass(frozen=True)
class Move:
    """A visit's new day, and why it is there; `keep`: whether new plans leave it there (None: as it was)."""

    visit: Visit
    day: date
    because: Sequence[str]
    keep: bool | None = None
    breaks: Sequence[str] = ()


@writing()
def order_visits_move(*, order: WorkOrder, moves: Sequence[Move], stamp: Stamp) -> WorkOrder:
    """Other days for visits of an order that was not started; the order spans what its visits span."""
    if order.state not in NOT_STARTED:
        raise WrongState(f"{order} is {order.state}; only an order that was not started has visits to move.")
    before = {str(move.visit.public_id): move.visit.day.isoformat() for move in moves}
    for move in moves:
        visit_move(
            visit=move.visit, day=move.day, because=move.because, keep=move.keep, breaks=move.breaks, stamp=stamp
        )
    after = {str(move.visit.public_id): move.day.isoformat() for move in moves}
    _follow(order, "order_visits_move", before, after, stamp)
    return order


@writing()
def order_visits_leave(*, order: WorkOrder, visits: Sequence[Visit], stamp: Stamp) -> WorkOrder:
    """Visits that were not worked fall away from an order; what they served is demand again, unless another visit
    serves it. An order that is left with nothing is void."""
    if any(visit.state == "done" for visit in visits) or order.state not in (*NOT_STARTED, "underway"):
        raise WrongState(f"{order} is {order.state}; work that was done stays on it.")
    leaving = {visit.pk for visit in visits}
    if leaving >= {visit.pk for visit in order_visits(order)}:
        return order_void(order=order, stamp=stamp)
    for visit in visits:
        OrderVisit.objects.filter(order=order, visit=visit).delete()
        visit_settle(visit=visit, state="dropped", stamp=stamp)
    _reopen([share for visit in visits for share in visit.shares.all()], stamp)
    gone = [str(visit.public_id) for visit in visits]
    _follow(order, "order_visits_leave", {"visits": gone}, {"visits": []}, stamp)
    return order


@writing()
def order_visit_cut(*, order: WorkOrder, visit: Visit, parts: Sequence[VisitShare], stamp: Stamp) -> WorkOrder:
    """A visit stays on its order without some of its parts."""
    visit_cut(visit=visit, parts=parts, stamp=stamp)
    _reopen(parts, stamp)
    after = {"without": [str(part.prescription) for part in parts]}
    _follow(order, "order_visit_cut", {"visit": str(visit.public_id)}, after, stamp)
    return order


def _reopen(parts: Iterable[VisitShare], stamp: Stamp) -> None:
    keys = {part.prescription_id for part in parts}
    for prescription in Prescription.objects.filter(pk__in=keys, state="ordered").order_by("id"):
        prescription_reopen(prescription=prescription, stamp=stamp)


def _follow(order: WorkOrder, verb: str, before: dict[str, Any], after: dict[str, Any], stamp: Stamp) -> None:
    """The order's days, its version, and the record; the crew hears of it once the order was issued."""
    days = [visit.day for visit in order_visits(order).exclude(state="dropped")]
    version_bump(order, expected=None, first_day=min(days), last_day=max(days))
    audience = [] if order.state == "draft" else [order.crew.public_id]
    change_record(stamp=stamp, verb=verb, entity=order, before=before, after=after, audience=audience)


@writing()
def order_visit_part(*, order: WorkOrder, move: Move, crew: Crew, stamp: Stamp) -> WorkOrder:
    """Another crew takes one visit of a draft, on a draft of its own, which is returned."""
    if order.state != "draft":
        raise WrongState(f"{order} is {order.state}; only a draft gives a visit away.")
    visit = move.visit
    OrderVisit.objects.filter(order=order, visit=visit).delete()
    visit_settle(visit=visit, state="planned", stamp=stamp)
    visit_move(
        visit=visit,
        crew=crew,
        day=move.day,
        because=move.because,
        keep=move.keep,
        breaks=move.breaks,
        stamp=stamp,
    )
    _follow(order, "order_visits_leave", {"visits": [str(visit.public_id)]}, {"visits": []}, stamp)
    visit.refresh_from_db()
    return order_draft(visits=[visit], stamp=stamp, instructions=order.instructions)
