"""The close-out of an order, and its amendment. One that finds the order closed already is held for a person."""

from orders import corrections, flow
from orders.bodies.statements import AmendmentIn, StatementIn, statement
from orders.commands.conflicts import others_refuse
from orders.commands.doubts.closing import close_doubts
from orders.commands.heard import Heard, hears
from orders.commands.work import order_of
from orders.workorders.models import CloseOut


def _is_known(heard: Heard) -> bool:
    named = heard.body.get("id")
    return named is not None and CloseOut.objects.filter(public_id=named).exists()


@hears("close-order", StatementIn, needs_order=True)
def close_hear(heard: Heard) -> None:
    if _is_known(heard):
        return
    others_refuse(heard)
    close_out = flow.close_order(order=order_of(heard), statement=statement(heard.body), stamp=heard.stamp)
    close_doubts(heard, close_out)


@hears("amend-order", AmendmentIn, needs_order=True)
def amend_hear(heard: Heard) -> None:
    if _is_known(heard):
        return
    others_refuse(heard)
    stamp = heard.stamp.because(heard.body["reason"])
    close_out = corrections.amend_close_out(order=order_of(heard), statement=statement(heard.body), stamp=stamp)
    close_doubts(heard, close_out)
