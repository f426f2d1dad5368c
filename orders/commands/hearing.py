"""A command's effect alone: its envelope is looked up, and its handler writes or refuses."""

from orders.commands.envelope import Content, content_read
from orders.commands.heard import Heard, Kind
from orders.common.errors import Refusal
from orders.common.models import User
from orders.field.models import Command
from orders.field.selectors.commands import was_on_device
from orders.workorders.models import WorkOrder


class UserNotOnTablet(Refusal):
    """The person whom the command names was not on the tablet, or may not log in any more."""

    code = "user_not_on_tablet"
    title = "The person is not on this tablet"


class OrderUnknown(Refusal):
    """The command names a work order that is not here."""

    code = "order_unknown"
    title = "The work order is not known"


def command_hear(command: Command, *, decided_by: User | None = None) -> None:
    """The handler's part alone; raises what it raises."""
    kind, heard = command_heard(command, decided_by=decided_by)
    kind.handler(heard)


def command_heard(command: Command, *, decided_by: User | None = None) -> tuple[Kind, Heard]:
    """The command as its handler gets it, with the rows that its envelope names."""
    content = content_read(command.raw)
    command.happened_at = content.happened_at
    command.user = User.objects.filter(public_id=content.user).first()
    command.order = _order_of(content)
    if command.user is None or (decided_by is None and not _may_speak(command, command.user, content)):
        raise UserNotOnTablet("Somebody is named who was not on this tablet, or may not log in any more.")
    if content.order is not None and command.order is None:
        raise OrderUnknown("The work order that this names is not here.")
    return content.kind, Heard(command, command.user, command.order, content.happened_at, content.body, decided_by)


def _order_of(content: Content) -> WorkOrder | None:
    if content.order is None:
        return None
    return WorkOrder.objects.select_related("site", "crew", "season").filter(public_id=content.order).first()


def _may_speak(command: Command, user: User, content: Content) -> bool:
    return user.is_active and was_on_device(command.device, user, content.happened_at)
