"""A command that could be read, as its handler gets it; and the table of which handler reads which kind."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from orders.bodies.base import Body
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.field.models import Command
from orders.workorders.models import WorkOrder


@dataclass(frozen=True)
class Heard:
    """`body` is checked by the kind's serializer. `order` is the one that the envelope names, if it does. `decided_by`
    is who at the desk has looked at a command that was held and lets it be applied."""

    command: Command
    user: User
    order: WorkOrder | None
    happened_at: datetime
    body: dict[str, Any]
    decided_by: User | None = None

    @property
    def stamp(self) -> Stamp:
        """Written now, by the person who was at the tablet; when it happened stands in the fact's own `at`."""
        return Stamp(by=self.user, at=self.command.received_at)

    def day(self, time_zone: str) -> date:
        """The local date on which it happened."""
        return Stamp(by=self.user, at=self.happened_at).local_date(time_zone)


Handler = Callable[[Heard], None]


@dataclass(frozen=True)
class Kind:
    """`needs_order`: the envelope must name one."""

    code: str
    body: type[Body]
    handler: Handler
    needs_order: bool = False


KINDS: dict[str, Kind] = {}


def hears(code: str, body: type[Body], *, needs_order: bool = False) -> Callable[[Handler], Handler]:
    """Register a handler. It adds facts and raises flags; a Refusal that it raises holds the command for a person."""

    def register(handler: Handler) -> Handler:
        KINDS[code] = Kind(code, body, handler, needs_order)
        return handler

    return register
