"""An order that was taken back and worked all the same: it stands again, if nobody else has its work by now."""

from collections import defaultdict

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, Refusal, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.planning.models import Prescription
from orders.planning.selectors import LEAST_SHARE, share_unplanned
from orders.planning.services import visit_settle
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_visits
from orders.workorders.services import order_step


class WorkTaken(Refusal):
    """Some of the order's work is planned or done otherwise by now; it would be there twice."""

    code = "work_taken"
    title = "The order's work is taken"


@writing()
def order_restore(*, order: WorkOrder, stamp: Stamp) -> WorkOrder:
    """Void -> issued, or underway where it had been started: its visits and prescriptions are ordered again."""
    if not stamp.reason:
        raise Invalid("Say why the order stands again.", [FieldError("reason", "is required", code="required")])
    if order.state != "void" or order.issued_at is None:
        raise WrongState(f"{order} is {order.state}; only one that was issued and then void can stand again.")
    visits = list(order_visits(order))
    parts: dict[Prescription, float] = defaultdict(float)
    for visit in visits:
        for share in visit.shares.all():
            parts[share.prescription] += share.share
    taken = [str(asked) for asked, part in parts.items() if _is_taken(asked, part)]
    if taken:
        raise WorkTaken(f"{order} cannot stand again.", [FieldError("order", f"{one} is taken") for one in taken])
    state = "underway" if order.started_at else "issued"
    order_step(order, now_in=("void",), state=state, void_reason="", stamp=stamp, verb="order_restore")
    for visit in visits:
        visit_settle(visit=visit, state="ordered", stamp=stamp)
    for asked in parts:
        before = version_bump(asked, expected=None, state="ordered")
        change_record(stamp=stamp, verb="prescription_restore", entity=asked, before=before, after={"state": "ordered"})
    return order


def _is_taken(asked: Prescription, part: float) -> bool:
    return asked.state in {"done", "dropped"} or share_unplanned(asked) < part - LEAST_SHARE
