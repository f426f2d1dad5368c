"""Standing visits that move, and their orders with them, by a plan made again or by hand; and visits that a hand puts
on a day or takes off it."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from uuid import UUID

from estimating.labels import Finding
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.selectors import order_funding
from orders.costs.services.entries import Payer
from orders.costs.services.posting import commitments_reverse, order_fund
from orders.crews.models import Crew
from orders.planning.adding import Placed, place_breaks, visit_add
from orders.planning.again import Replanned, visit_cut
from orders.planning.models import Prescription, Visit, VisitShare
from orders.planning.moving import Break, break_of, by_hand, move_breaks, move_check, said_by_hand
from orders.planning.selectors import LEAST_SHARE, share_unplanned
from orders.planning.services import states_follow, visit_move, visit_settle
from orders.workorders.guards import issue_refuse
from orders.workorders.label_checks import label_findings_moved, label_findings_placed
from orders.workorders.models import WorkOrder
from orders.workorders.moving import (
    NOT_STARTED,
    Move,
    order_visit_cut,
    order_visit_part,
    order_visits_leave,
    order_visits_move,
)
from orders.workorders.selectors import order_visits
from orders.workorders.services import order_reassign

COMMITTED = ("issued", "underway")
PLANNED_AGAIN = "Planned again"


class _Orders:
    """The orders of some visits, each read once, so that their versions go on."""

    def __init__(self, visits: Iterable[Visit]) -> None:
        keys = [visit.pk for visit in visits]
        rows = WorkOrder.objects.filter(order_visits__visit__in=keys).select_related("site__jurisdiction", "crew")
        self.by_key = {order.pk: order for order in rows.distinct().order_by("number")}
        self.key_of = dict(
            WorkOrder.objects.filter(pk__in=self.by_key).order_by().values_list("order_visits__visit", "pk")
        )

    def of(self, visit: Visit) -> WorkOrder | None:
        return self.by_key.get(self.key_of.get(visit.pk, 0))

    def groups(self, visits: Iterable[Visit]) -> list[tuple[WorkOrder | None, list[Visit]]]:
        """Visits by their order, those on none first."""
        found: dict[int, list[Visit]] = defaultdict(list)
        for visit in visits:
            found[self.key_of.get(visit.pk, 0)].append(visit)
        return [(self.by_key.get(key), rows) for key, rows in sorted(found.items())]


@writing()
def orders_follow(*, found: Replanned, stamp: Stamp) -> list[Visit]:
    """Bring standing visits and their orders to where a plan made again has them; returns the new visits, to be put on
    drafts. An issued order whose visits moved must pass again what it passed at issue, or all of it is refused."""
    told = stamp if stamp.reason else stamp.because(PLANNED_AGAIN)
    orders = _Orders([*found.moved, *found.cut, *found.gone])
    for order, visits in orders.groups(found.gone):
        _leave(order, visits, told)
    for visit, parts in found.cut.items():
        _cut(orders.of(visit), visit, parts, told)
    moved = orders.groups(found.moved)
    for order, visits in moved:
        _move(order, [Move(visit, found.moved[visit].day, found.moved[visit].because) for visit in visits], told)
    for order, _ in moved:
        if order is not None and order.state == "issued":
            issue_refuse(order, stamp=stamp)
    for season in {visit.season for visit in (*found.gone, *found.cut, *found.new)}:
        states_follow(season)
    return found.new


def _leave(order: WorkOrder | None, visits: Sequence[Visit], stamp: Stamp) -> None:
    if order is None:
        for visit in visits:
            visit_settle(visit=visit, state="dropped", stamp=stamp)
        return
    if order.state in COMMITTED:
        parts = [share for visit in visits for share in visit.shares.all()]
        commitments_reverse(order=order, parts=parts, stamp=stamp)
    order_visits_leave(order=order, visits=visits, stamp=stamp)


def _cut(order: WorkOrder | None, visit: Visit, parts: Sequence[VisitShare], stamp: Stamp) -> None:
    if not parts:
        return
    if order is None:
        visit_cut(visit=visit, parts=parts, stamp=stamp)
        return
    if order.state in COMMITTED:
        commitments_reverse(order=order, parts=parts, stamp=stamp)
    order_visit_cut(order=order, visit=visit, parts=parts, stamp=stamp)


def _move(order: WorkOrder | None, moves: Sequence[Move], stamp: Stamp) -> None:
    if order is not None:
        order_visits_move(order=order, moves=moves, stamp=stamp)
        return
    for move in moves:
        visit_move(visit=move.visit, day=move.day, because=move.because, stamp=stamp)


def visit_move_breaks(*, visit: Visit, crew: Crew, day: date) -> tuple[Break, ...]:
    """What moving a visit by hand would break, the labels' word included. Stores nothing."""
    return (*move_breaks(visit, crew, day), *_label_breaks(label_findings_moved(visit, day)))


def _label_breaks(findings: Iterable[Finding]) -> list[Break]:
    return [replace(break_of("label", finding.message), is_hard=not finding.overridable) for finding in findings]


@writing()
def visit_move_by_hand(*, visit: Visit, crew: Crew, day: date, keep: bool, stamp: Stamp) -> Visit:
    """Move a visit by hand, its order with it. What it breaks needs a reason, and what nobody may break is refused.

    What a plan said of its old place holds no more. An issued order passes again what it passed at issue. Another crew
    takes a visit of a draft onto a draft of its own; of an issued order only the whole changes crews.
    """
    order = _Orders([visit]).of(visit)
    if order is not None and order.state not in NOT_STARTED:
        raise WrongState(f"{order} is {order.state}; the visits of an order that was started stay where they are.")
    breaks = visit_move_breaks(visit=visit, crew=crew, day=day)
    move_check(breaks, stamp.reason)
    stays = (crew.pk, day) == (visit.crew_id, visit.day)
    because = visit.because if stays else [by_hand(visit, stamp, breaks)]
    move = Move(visit, day, because, keep, [f"{one.kind}: {one.words}" for one in breaks])
    if order is None:
        return visit_move(
            visit=visit, crew=crew, day=day, because=move.because, keep=keep, breaks=move.breaks, stamp=stamp
        )
    if crew.pk == order.crew_id:
        order_visits_move(order=order, moves=[move], stamp=stamp)
    else:
        _to_crew(order, move, crew, stamp)
    if order.state == "issued":
        issue_refuse(order, stamp=stamp)
    visit.refresh_from_db()
    return visit


def _to_crew(order: WorkOrder, move: Move, crew: Crew, stamp: Stamp) -> None:
    standing = [row for row in order_visits(order) if row.state != "dropped"]
    if len(standing) == 1:
        order_reassign(order=order, crew=crew, stamp=stamp)
        move.visit.refresh_from_db()
        order_visits_move(order=order, moves=[move], stamp=stamp)
    elif order.state == "draft":
        shares = [Payer(row.fund, row.award, row.share_e4) for row in order_funding(order)]
        made = order_visit_part(order=order, move=move, crew=crew, stamp=stamp)
        if shares:
            order_fund(order=made, shares=shares, stamp=stamp)
    else:
        detail = f"{order} was issued to {order.crew} with {len(standing)} visits. Give all of it to {crew}"
        raise WrongState(f"{detail}, or move this visit within {order.crew}.")


def visit_add_breaks(*, prescription: Prescription, crew: Crew, day: date) -> Placed:
    """What putting a day's piece of asked-for work with a crew would break, the labels' word included."""
    placed = place_breaks(prescription, crew, day)
    labels = _label_breaks(label_findings_placed(prescription, placed.share, day))
    return replace(placed, breaks=(*placed.breaks, *labels))


@writing()
def visit_add_by_hand(
    *, prescription: Prescription, crew: Crew, day: date, public_id: UUID | None = None, stamp: Stamp
) -> Visit:
    """Put a day's piece of asked-for work with a crew, judged as a move is. New plans leave it there."""
    placed = visit_add_breaks(prescription=prescription, crew=crew, day=day)
    move_check(placed.breaks, stamp.reason)
    because = [said_by_hand("Put there by hand", stamp, placed.breaks)]
    return visit_add(
        prescription=prescription,
        crew=crew,
        day=day,
        placed=placed,
        because=because,
        public_id=public_id,
        stamp=stamp,
    )


@writing()
def visit_take_off(*, visit: Visit, stamp: Stamp) -> Visit:
    """Take a visit off its day: its work is asked for again. One on an order leaves it, which wants a reason; an order
    that is left with nothing is void."""
    order = _Orders([visit]).of(visit)
    if visit.state not in {"planned", "ordered"}:
        raise WrongState(f"The visit is {visit.get_state_display().lower()}; it cannot be taken off its day.")
    if order is not None and order.state not in NOT_STARTED:
        raise WrongState(f"{order} is {order.state}; call the visit off on the order instead.")
    if order is not None and not stamp.reason.strip():
        raise Invalid(f"Say why the visit leaves {order}.", [FieldError("reason", "is required", code="required")])
    _leave(order, [visit], stamp)
    states_follow(visit.season)
    visit.refresh_from_db()
    return visit


@writing()
def visit_put_back(*, visit: Visit, stamp: Stamp) -> Visit:
    """A visit that was taken off its day stands there again, on no order, unless its work is planned otherwise."""
    if visit.state != "dropped" or hasattr(visit, "order_visit"):
        raise WrongState("Only a visit that was taken off its day, and is on no order, can be put back.")
    shares = list(visit.shares.select_related("prescription__patch__site", "prescription__method"))
    taken = [part.prescription for part in shares if _is_taken(part)]
    if taken:
        raise WrongState(f"{taken[0]} is planned or done otherwise by now; the visit cannot be put back.")
    visit_settle(visit=visit, state="planned", stamp=stamp)
    states_follow(visit.season)
    visit.refresh_from_db()
    return visit


def _is_taken(part: VisitShare) -> bool:
    asked = part.prescription
    return asked.state in {"done", "dropped"} or share_unplanned(asked) < part.share - LEAST_SHARE
