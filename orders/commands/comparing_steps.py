"""A held step beside the order as it stands by now: void, another crew's, or in another state than the tablet knew."""

from orders.bodies.statements import statement
from orders.commands.comparing import Line, of_statement
from orders.commands.envelope import Content, Unreadable, content_read
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.crews.selectors import memberships_of
from orders.field.models import Command
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_visits

# What state a step needs the order to be in.
NEEDED = {
    "start-order": "Issued",
    "visit-not-done": "Issued or underway",
    "close-order": "Issued or underway",
    "amend-order": "Closed",
}


def step_compared(command: Command) -> list[Line] | None:
    """None where it is no step of an order, or cannot be read."""
    if command.order is None or command.kind not in NEEDED:
        return None
    try:
        said = content_read(command.raw)
    except Unreadable:
        return None
    return [*_order_lines(command, command.order, said), *_stated(command, said)]


def _order_lines(command: Command, order: WorkOrder, said: Content) -> list[Line]:
    day = Stamp(by=None, at=said.happened_at).local_date(order.site.time_zone)
    days = [visit.day.isoformat() for visit in order_visits(order).exclude(state="dropped")]
    state = order.get_state_display()
    needed = NEEDED[command.kind]
    sender = User.objects.filter(public_id=said.user).first()
    own = [] if sender is None else [member.crew.name for member in memberships_of(sender, day)]
    fits = state.lower() in needed.lower()
    on_day = day.isoformat() in days
    return [
        Line("order", "State", _state(order), _state(order) if fits else f"{needed} is needed"),
        Line("order", "Crew", order.crew.name, order.crew.name if order.crew.name in own else ", ".join(own)),
        Line("order", "Days", ", ".join(days), day.isoformat() if not on_day else ", ".join(days)),
    ]


def _state(order: WorkOrder) -> str:
    return f"{order.get_state_display()}: {order.void_reason}" if order.void_reason else order.get_state_display()


def _stated(command: Command, said: Content) -> list[Line]:
    """What a held close-out says; nothing was stated on the order before."""
    if command.kind not in {"close-order", "amend-order"}:
        return []
    found = of_statement(statement(said.body)).items()
    lines = [Line(group, name, None, value) for (group, name), value in found]
    order = ["statement", "outcomes", "people", "materials"]
    return sorted(lines, key=lambda line: order.index(line.group))
