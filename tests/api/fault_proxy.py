"""A bad line between a tablet and the server: it loses, doubles, delays and reorders, always alike for a seed."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random
from typing import Any

Send = Callable[[Any], Any]
FAULTS = ("request lost", "reply lost", "doubled", "delayed")


@dataclass
class FaultProxy:
    """`send` delivers a request and returns the reply. None is what a tablet sees when nothing comes back.

    A delayed request is delivered some time later, after others that were sent after it, and even after the tablet has
    its receipt from a repeat.
    """

    send: Send
    random: Random
    chance: float = 0.5
    counts: Counter[str] = field(default_factory=Counter)
    held: list[Any] = field(default_factory=list)

    def __call__(self, request: Any) -> Any:
        fault = self.random.choice(FAULTS) if self.random.random() < self.chance else "none"
        self.counts[fault] += 1
        reply = self._pass(request, fault)
        self._release()
        return reply

    def _pass(self, request: Any, fault: str) -> Any:
        if fault == "request lost":
            return None
        if fault == "delayed":
            self.held.append(request)
            return None
        reply = self.send(request)
        if fault == "doubled":
            reply = self.send(request)
        return None if fault == "reply lost" else reply

    def _release(self) -> None:
        """Now and then one of those held back comes through, no matter which."""
        while self.held and self.random.random() < 0.3:
            self.counts["came late"] += 1
            self.send(self.held.pop(self.random.randrange(len(self.held))))

    def release_all(self) -> None:
        """The line is good again: whatever it still holds comes through, in any order."""
        self.random.shuffle(self.held)
        while self.held:
            self.counts["came late"] += 1
            self.send(self.held.pop())
