"""An order that is not as the tablet knew it: what then becomes of facts, and of steps that change its state."""

from orders.commands.heard import Heard
from orders.common.errors import Refusal
from orders.common.models.user import ADMINISTRATOR, COORDINATOR
from orders.crews.selectors import memberships_of
from orders.field.services.flags import About, flag_raise
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import close_out_standing


class OrderNotYours(Refusal):
    """The order belongs to another crew now."""

    code = "order_not_yours"
    title = "The order is another crew's"


def others_refuse(heard: Heard) -> None:
    """For steps that change the order's state: another crew's is held until somebody at the desk decides."""
    order = heard.order
    if order is not None and heard.decided_by is None and not _is_theirs(heard, order):
        raise OrderNotYours(f"{order} belongs to {order.crew} now.", data={"crew": order.crew.name})


def conflicts_flag(heard: Heard, order: WorkOrder | None = None) -> None:
    """For facts: they are stored whatever became of the order, and a person looks at it. One flag for each cause."""
    order = order or heard.order
    if order is None:
        return
    if order.state in {"draft", "void"}:
        _flag(heard, order, f"order_{order.state}", f"{order} is {order.state}, and work on it is reported.")
    elif order.state == "closed" and _closed_by_another(heard, order):
        _flag(heard, order, "order_closed", f"{order} was closed by somebody else, and more work on it is reported.")
    if not _is_theirs(heard, order):
        title = (
            f"{order} belongs to {order.crew} now, and {heard.user.get_full_name() or heard.user} reports work on it."
        )
        _flag(heard, order, "order_not_yours", title)


def _flag(heard: Heard, order: WorkOrder, kind: str, title: str) -> None:
    flag_raise(
        key=f"{kind}:{order.public_id}:{heard.user.public_id}",
        kind=kind,
        severity="settle",
        title=title,
        about=About(order=order, command=heard.command),
        stamp=heard.stamp,
    )


def _is_theirs(heard: Heard, order: WorkOrder) -> bool:
    """On the day on which it happened."""
    if heard.user.has_role(COORDINATOR, ADMINISTRATOR):
        return True
    own = memberships_of(heard.user, heard.day(order.site.time_zone))
    return order.crew_id in {member.crew_id for member in own}


def _closed_by_another(heard: Heard, order: WorkOrder) -> bool:
    standing = close_out_standing(order)
    return standing is not None and standing.by_id != heard.user.pk
