"""Steps of an order before its close: started, and a visit called off. They change its state, and wait for a person
where the order is not as the tablet knew it."""

from orders import flow
from orders.bodies.base import Nothing
from orders.bodies.day import VisitNotDoneIn
from orders.commands.conflicts import others_refuse
from orders.commands.heard import Heard, hears
from orders.common.errors import Invalid
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_visit_get
from orders.workorders.services import visit_not_done

REASON_CHARACTERS = 200  # of the record; the command keeps all of it


def order_of(heard: Heard) -> WorkOrder:
    if heard.order is None:
        raise Invalid("This needs an order.")
    return heard.order


@hears("start-order", Nothing, needs_order=True)
def start_hear(heard: Heard) -> None:
    """Two people of a crew may both say it."""
    others_refuse(heard)
    order = order_of(heard)
    if order.state != "underway":
        flow.start_order(order=order, stamp=heard.stamp)


@hears("visit-not-done", VisitNotDoneIn, needs_order=True)
def visit_not_done_hear(heard: Heard) -> None:
    others_refuse(heard)
    order = order_of(heard)
    visit = order_visit_get(order, heard.body["visit"])
    if visit.state != "not_done":
        visit_not_done(order=order, visit=visit, stamp=heard.stamp.because(heard.body["reason"][:REASON_CHARACTERS]))
