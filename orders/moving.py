"""Standing visits that move, and their orders with them: by a plan made again, or by hand."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date

from orders.common.errors import WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.selectors import order_funding
from orders.costs.services.entries import Payer
from orders.costs.services.posting import commitments_reverse, order_fund
from orders.crews.models import Crew
from orders.planning.again import Replanned, visit_cut
from orders.planning.models import Visit, VisitShare
from orders.planning.moving import Break, break_of, by_hand, move_breaks, move_check
from orders.planning.services import states_follow, visit_move, visit_settle
from orders.workorders.guards import issue_refuse
from orders.workorders.label_checks import label_findings_moved
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
    labels = [
        replace(break_of("label", finding.message), is_hard=not finding.overridable)
        for finding in label_findings_moved(visit, day)
    ]
    return (*move_breaks(visit, crew, day), *labels)


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
