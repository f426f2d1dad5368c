"""A tablet's side of the protocol: envelopes as they are written, numbered from 1."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

from orders.field.models import Device

HAPPENED = datetime(2027, 2, 1, 15, tzinfo=UTC)


@dataclass
class Sender:
    device: Device
    user: Any
    seq: int = 0

    def envelope(self, kind: str, body: dict[str, Any], **more: Any) -> dict[str, Any]:
        """The next number; `more` says otherwise."""
        self.seq += 1
        return {
            "id": str(uuid4()),
            "seq": self.seq,
            "user": str(self.user.public_id),
            "kind": kind,
            "order": None,
            "happened_at": HAPPENED.isoformat(),
            "app_version": "1",
            "schema": 1,
            "body": body,
            **more,
        }
