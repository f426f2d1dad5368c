"""A tablet in the demo's season: commands written without a signal, sent over a line that loses every third answer."""

import json
from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import numpy as np

from orders.commands.queue import batch_take
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.field.models import Device
from orders.field.services.commands import Contact
from orders.field.services.devices import device_enroll, enrollment_code_make

ANSWERS_LOST = 1 / 3
MOST_IN_A_BATCH = 50
APP_VERSION = "demo"


@dataclass
class DemoTablet:
    """As the server sees one: an outbox that is sent in order, and sent again until each command has its answer."""

    device: Device
    user: User
    random: np.random.Generator
    outbox: list[dict[str, Any]] = field(default_factory=list)
    answers: dict[str, dict[str, Any]] = field(default_factory=dict)
    seq: int = 0
    sent: int = 0

    @classmethod
    def enrolled(cls, name: str, user: User, random: np.random.Generator, stamp: Stamp) -> "DemoTablet":
        _, text = enrollment_code_make(user=user, stamp=stamp)
        made = device_enroll(
            code=text, name=name, device=None, app_version=APP_VERSION, stamp=Stamp(by=None, at=stamp.at)
        )
        return cls(made.device, user, random)

    def own_id(self) -> str:
        return str(UUID(bytes=self.random.bytes(16), version=4))

    def say(self, kind: str, body: dict[str, Any], *, at: datetime, order: UUID | None = None) -> None:
        self.seq += 1
        self.outbox.append(
            {
                "id": self.own_id(),
                "seq": self.seq,
                "user": str(self.user.public_id),
                "kind": kind,
                "order": str(order) if order else None,
                "happened_at": at.isoformat(),
                "app_version": APP_VERSION,
                "schema": 1,
                "body": json.loads(json.dumps(body, default=_text)),
            }
        )

    def sync(self, at: datetime) -> None:
        """Signal again. An answer that is lost on the way leaves its command in the outbox, to be sent once more."""
        while self.outbox:
            contact = Contact(device=self.device, at=at, skew_seconds=0)
            batch = batch_take(contact=contact, commands=self.outbox[:MOST_IN_A_BATCH], is_late=lambda: False)
            self.sent += len(batch.answers)
            for answer in batch.answers:
                if self.random.random() >= ANSWERS_LOST:
                    self.answers[answer["id"]] = answer
            self.outbox = [each for each in self.outbox if each["id"] not in self.answers]
            at += timedelta(minutes=1)

    def became(self) -> Counter[str]:
        return Counter(answer["state"] for answer in self.answers.values())


def _text(value: Any) -> str:
    return value.isoformat() if isinstance(value, datetime) else str(value)
