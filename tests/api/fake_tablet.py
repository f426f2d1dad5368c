"""A crew lead's tablet, as the server sees it: an outbox of commands that are sent again until each has an answer."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from random import Random
from typing import Any
from uuid import UUID

MOST = 50
MOST_TRIES = 400
HAPPENED = datetime(2027, 2, 1, 20, tzinfo=UTC)
Line = Callable[[dict[str, Any]], dict[str, Any] | None]


@dataclass
class FakeTablet:
    """`line` sends a batch and returns what the server says, or None where nothing came back. Ids are made once, on the
    tablet, so that each repeat is the same command."""

    line: Line
    user: UUID
    random: Random
    happened_at: datetime = HAPPENED
    written: list[dict[str, Any]] = field(default_factory=list)
    outbox: list[dict[str, Any]] = field(default_factory=list)
    answers: dict[str, dict[str, Any]] = field(default_factory=dict)

    def own_id(self) -> str:
        return str(UUID(int=self.random.getrandbits(128), version=4))

    def write(self, kind: str, body: dict[str, Any], order: UUID | None = None) -> str:
        """Queue a command; its id."""
        command = {
            "id": self.own_id(),
            "seq": len(self.written) + 1,
            "user": str(self.user),
            "kind": kind,
            "order": str(order) if order else None,
            "happened_at": self.happened_at.isoformat(),
            "app_version": "1",
            "schema": 1,
            "body": body,
        }
        self.written.append(command)
        self.outbox.append(command)
        return str(command["id"])

    def close(self, order: UUID, statement: dict[str, Any]) -> str:
        """The statement gets an id for itself and for each of its rows."""
        rows = {
            name: [{"id": self.own_id(), **row} for row in statement.get(name, [])] for name in ("times", "materials")
        }
        return self.write("close-order", {**statement, **rows, "id": self.own_id()}, order)

    def send(self, commands: list[dict[str, Any]]) -> bool:
        """One batch; whether something came back. A command leaves the outbox on its answer, and never otherwise."""
        left = len(self.outbox) - len(commands)
        reply = self.line(
            {
                "sent_at": self.happened_at.isoformat(),
                "app_version": "1",
                "waiting": max(0, left),
                "commands": commands,
            }
        )
        if reply is None:
            return False
        self.hear([*reply["answers"], *reply["later"]])
        return True

    def hear(self, answers: list[dict[str, Any]]) -> None:
        for answer in answers:
            known = self.answers.get(answer["id"])
            assert known is None or known["state"] == "waiting" or known == answer, "The answer has changed."
            self.answers[answer["id"]] = answer
        self.outbox = [command for command in self.outbox if command["id"] not in self.answers]

    def sync(self) -> None:
        for _ in range(MOST_TRIES):
            if not self.outbox:
                return
            self.send(self.outbox[:MOST])
        raise AssertionError(f"{len(self.outbox)} commands still have no answer.")
