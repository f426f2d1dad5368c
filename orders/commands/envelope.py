"""What a tablet sends, read. What cannot be read keeps its bytes, and says why."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID, uuid5

from rest_framework import serializers

from orders.bodies.base import Body
from orders.bodies.errors import errors_flat
from orders.bodies.fields import INT32, Id, Moment, Text, Whole, id_read
from orders.commands.heard import Kind
from orders.commands.kinds import kind_find
from orders.common.errors import FieldError

SCHEMA = 1
Step = Callable[[dict[str, Any]], dict[str, Any]]
UPGRADES: dict[int, Step] = {}  # schema -> what makes the next one of it; tablets stay away for months
APART = UUID("5b0c7c1e-6a57-4c0e-9d0f-3f6f3c8b2a11")  # names what has no id of its own, by what is in it


@dataclass
class Unreadable(Exception):
    """Nothing can be made of it by sending it again."""

    code: str
    message: str
    errors: list[FieldError]


@dataclass(frozen=True)
class Sent:
    """As it came: enough to keep it, to find it again and to put it in its place."""

    told_id: str
    public_id: UUID
    seq: int
    raw: str
    sha256: str

    def apart(self) -> "Sent":
        """Under an id of its own, where the id that it names belongs to something else."""
        return replace(self, public_id=uuid5(APART, f"{self.told_id} {self.sha256}"))


@dataclass(frozen=True)
class Content:
    """Read and checked in shape; nothing is looked up."""

    kind: Kind
    user: UUID
    order: UUID | None
    happened_at: datetime
    body: dict[str, Any]


class EnvelopeIn(Body):
    id = Id()
    seq = Whole(min_value=1)
    user = Id()
    kind = Text(max_length=40)
    order = Id(required=False, allow_null=True)
    happened_at = Moment()
    app_version = Text(max_length=40, allow_blank=True, default="")
    schema = Whole(min_value=1)
    body = serializers.DictField()


def envelope_take(sent: Any) -> Sent:
    """Never refuses. Spaces and the order of names do not count: the same content has the same hash."""
    raw = json.dumps(sent, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    digest = hashlib.sha256(raw.encode()).hexdigest()
    named = sent if isinstance(sent, dict) else {}
    told_id, seq = named.get("id"), named.get("seq")
    is_number = isinstance(seq, int) and not isinstance(seq, bool) and 1 <= seq <= INT32
    return Sent(
        told_id=told_id if isinstance(told_id, str) else "",
        public_id=_id_of(told_id) or uuid5(APART, digest),
        seq=seq if isinstance(seq, int) and is_number else 0,
        raw=raw,
        sha256=digest,
    )


def _id_of(told: Any) -> UUID | None:
    try:
        return id_read(told)
    except (TypeError, ValueError):
        return None


def app_version_of(raw: str) -> str:
    """For the desk, also where the rest cannot be read."""
    return _word(raw, "app_version")


def kind_of(raw: str) -> str:
    return _word(raw, "kind")


def _word(raw: str, name: str) -> str:
    sent = json.loads(raw)
    told = sent.get(name) if isinstance(sent, dict) else None
    return told.replace("\0", "")[:40] if isinstance(told, str) else ""


def content_read(raw: str) -> Content:
    """The kept bytes, brought up to today's schema; Unreadable with the reason."""
    checked = _checked(EnvelopeIn, _upgraded(json.loads(raw)))
    kind = kind_find(checked["kind"])
    if kind is None:
        raise Unreadable("kind_unknown", "Nobody here knows commands of this kind.", [])
    if kind.needs_order and checked.get("order") is None:
        raise Unreadable(
            "order_missing", "A command of this kind names a work order.", [FieldError("order", "is required")]
        )
    return Content(
        kind=kind,
        user=checked["user"],
        order=checked.get("order"),
        happened_at=checked["happened_at"],
        body=_checked(kind.body, checked["body"]),
    )


def _checked(shape: type[Body], data: Any) -> dict[str, Any]:
    checked = shape(data=data)
    if not checked.is_valid():
        raise Unreadable("invalid", "Some of the command cannot be read.", errors_flat(checked.errors))
    return dict(checked.validated_data)


def _upgraded(sent: Any) -> Any:
    """One step after the other, as each version was kept."""
    while isinstance(sent, dict) and sent.get("schema") != SCHEMA:
        schema = sent.get("schema")
        step = UPGRADES.get(schema) if isinstance(schema, int) else None
        if step is None:
            raise Unreadable("schema_unknown", "This version of commands is not known here.", [])
        sent = step(sent)
    return sent
