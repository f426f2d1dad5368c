"""What is owed by when, of any kind but seed deadlines: the facts, and what follows from them on a day. No database."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import NamedTuple

from orders.reminders.models import ENDED, MET, MISSED, OPEN

RULES = 1  # raised when the rules below change, so that every row is computed again

# Why a deadline is gone, by kind, where nothing else says so.
GONE = {
    "window": "The prescription's window closes on another day now.",
    "record": "No herbicide use of that day is on record or planned any more, or the order is void.",
    "license": "It runs to another day now, or the person is no longer active.",
    "label": "The label was reviewed on another day.",
    "stock": "Planned work takes no more than is on hand.",
    "close": "The order is void, or its last day is another one now.",
}


class Key(NamedTuple):
    """What a deadline is of."""

    kind: str
    subject: str
    period: str


@dataclass(frozen=True, kw_only=True)
class Owed:
    """All that a deadline says, but for what the day on which it is asked decides.

    `refs`: columns that point at other rows. `done_on`: the day on which it was settled. `gone`: why it is no longer
    owed. `known_at` None: known all along.
    """

    key: Key
    title: str
    due_on: date
    because: str
    refs: Mapping[str, int | None] = field(default_factory=dict)
    time_zone: str
    known_at: datetime | None = None
    done_on: date | None = None
    gone: str = ""

    def fingerprint(self, *, is_past: bool) -> str:
        """`is_past`: the due day is over, the only thing that the passing of time changes."""
        told = (self.title, self.due_on, self.because, sorted(self.refs.items()), self.done_on, self.gone)
        return hashlib.sha256(repr((RULES, is_past, told)).encode()).hexdigest()

    def state(self, today: date) -> str:
        """Done in time, gone, over, or still open."""
        if self.done_on is not None and self.done_on <= self.due_on:
            return MET
        if self.gone:
            return ENDED
        return MISSED if today > self.due_on or self.done_on is not None else OPEN
