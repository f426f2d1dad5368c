"""A crew lead's tablet, as the server sees it: an outbox of commands that are sent again until there is a receipt."""

from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random
from typing import Any
from uuid import UUID

FINAL = {400, 403, 404, 409, 410, 412, 422}  # the server has read it and says no: sending it again changes nothing
MOST_TRIES = 200


@dataclass(frozen=True)
class Command:
    """What the lead did. Ids and key are made once, on the tablet, so that each repeat is the same command."""

    key: str
    path: str
    body: dict[str, Any]


@dataclass
class FakeTablet:
    """`line` sends a command and returns the reply, or None where nothing came back."""

    line: Callable[[Command], Any]
    random: Random
    outbox: list[Command] = field(default_factory=list)
    receipts: dict[str, Any] = field(default_factory=dict)

    def own_id(self) -> str:
        return str(UUID(int=self.random.getrandbits(128), version=4))

    def start(self, order: Any) -> Command:
        return self._add(f"/api/work-orders/{order.public_id}/start", {})

    def not_done(self, order: Any, visit: Any, reason: str) -> Command:
        return self._add(f"/api/work-orders/{order.public_id}/visits/{visit.public_id}/not-done", {"reason": reason})

    def close(self, order: Any, statement: dict[str, Any]) -> Command:
        """The statement gets an id for itself and for each of its rows."""
        rows = {name: [{"id": self.own_id(), **row} for row in statement[name]] for name in ("times", "materials")}
        return self._add(f"/api/work-orders/{order.public_id}/close", {**statement, **rows, "id": self.own_id()})

    def _add(self, path: str, body: dict[str, Any]) -> Command:
        command = Command(key=self.own_id(), path=path, body=body)
        self.outbox.append(command)
        return command

    def sync(self) -> None:
        """Send in order until the outbox is empty. An entry leaves it on a recorded receipt, and never otherwise."""
        for _ in range(MOST_TRIES):
            if not self.outbox:
                return
            reply = self.line(self.outbox[0])
            if reply is not None and (reply.status_code < 300 or reply.status_code in FINAL):
                command = self.outbox.pop(0)
                self.receipts[command.key] = reply
        raise AssertionError(f"{len(self.outbox)} commands still have no receipt.")
