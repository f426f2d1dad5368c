"""Putting right what went wrong, each a new row that points at the old one: amend, void, restore, reassign."""

from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.services.overtime import close_out_weeks, overtime_refresh
from orders.costs.services.posting import close_out_post, close_out_reverse, commitments_post, commitments_reverse
from orders.costs.services.stock import stock_values_post
from orders.crews.models import Crew
from orders.flow import date_follow_ups, stock_take
from orders.supplies.services import stock_move
from orders.workorders.closing import order_amend
from orders.workorders.models import CloseOut, WorkOrder
from orders.workorders.restoring import order_restore
from orders.workorders.selectors import close_out_standing
from orders.workorders.services import order_reassign, order_void
from orders.workorders.statements import Statement


@writing()
def amend_close_out(*, order: WorkOrder, statement: Statement, stamp: Stamp) -> CloseOut:
    """State the close-out anew: the old postings are reversed and the new ones made, in the period of today."""
    superseded = close_out_standing(order)
    close_out = order_amend(order=order, statement=statement, stamp=stamp)
    today = stamp.local_date(order.site.time_zone)
    if superseded is not None:
        close_out_reverse(close_out=superseded, posted_on=today, stamp=stamp)
        _stock_return(superseded, stamp=stamp)
    stock_take(close_out, stamp=stamp)
    stock_values_post(posted_on=today, stamp=stamp)
    close_out_post(close_out=close_out, posted_on=today, stamp=stamp)
    stated = [one for one in (superseded, close_out) if one is not None]
    overtime_refresh(people_weeks=close_out_weeks(stated), posted_on=today, stamp=stamp)
    date_follow_ups(close_out=close_out, stamp=stamp)
    return close_out


def _stock_return(close_out: CloseOut, *, stamp: Stamp) -> None:
    for use in close_out.material_uses.select_related("lot__product").order_by("id"):
        stock_move(
            lot=use.lot,
            kind="return",
            amount=use.entered_value,
            unit=use.entered_unit,
            on=use.work_date,
            source_kind="material_use",
            source_id=use.public_id,
            reason=f"Amended: {stamp.reason}"[:200],
            stamp=stamp,
        )


@writing()
def void_order(*, order: WorkOrder, stamp: Stamp) -> WorkOrder:
    """Nothing will be done on it; what it was planned to cost is taken back."""
    was_committed = order.state in {"issued", "underway"}
    order_void(order=order, stamp=stamp)
    if was_committed:
        commitments_reverse(order=order, stamp=stamp)
    return order


@writing()
def restore_order(*, order: WorkOrder, stamp: Stamp) -> WorkOrder:
    """A crew worked on it before it heard that it was void: it stands again, with what it was planned to cost."""
    order_restore(order=order, stamp=stamp)
    commitments_post(order=order, stamp=stamp)
    return order


@writing()
def reassign_order(*, order: WorkOrder, crew: Crew, stamp: Stamp) -> WorkOrder:
    """Another crew takes an order that was not started."""
    return order_reassign(order=order, crew=crew, stamp=stamp)
