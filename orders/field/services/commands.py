"""What a tablet sent is kept whole (spaces and the order of names do not count), and what became of it beside it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from orders.common.changes import change_record
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.field.models import Command, Device

SHOWN_CHARACTERS = 400


@dataclass(frozen=True)
class Contact:
    """One delivery: by a tablet's call, or by a file that somebody brought to the desk."""

    device: Device
    at: datetime
    skew_seconds: int | None = None
    from_file: bool = False


@dataclass(frozen=True)
class Answer:
    """What the tablet is told, now and whenever it sends the same again."""

    state: str
    code: str = ""
    message: str = ""
    errors: tuple[dict[str, Any], ...] = ()


def command_keep(
    *, contact: Contact, public_id: UUID, seq: int, kind: str, raw: str, sha256: str, app_version: str
) -> Command:
    """Inside the transaction that also holds its effect, as the next two are."""
    return Command.objects.create(
        public_id=public_id,
        device=contact.device,
        seq=seq,
        kind=kind,
        raw=raw,
        sha256=sha256,
        app_version=app_version,
        received_at=contact.at,
        skew_seconds=contact.skew_seconds,
        from_file=contact.from_file,
    )


def command_answer(*, command: Command, answer: Answer, at: datetime) -> Command:
    """The answer and the state that it tells; flags that the command raised are named in it."""
    titles = list(command.flags.order_by("id").values_list("title", flat=True))
    command.state = answer.state
    command.answered_at = at
    command.answer = {
        "state": answer.state,
        "code": answer.code,
        "message": _plain(answer.message),
        "errors": [{name: _plain(value) for name, value in error.items()} for error in answer.errors],
        "flags": titles,
    }
    command.save(update_fields=["state", "answer", "answered_at", "user", "order", "happened_at"])
    return command


def _plain(value: Any) -> Any:
    """PostgreSQL takes no NUL, and a message may repeat what a tablet sent."""
    return value.replace("\0", "")[:SHOWN_CHARACTERS] if isinstance(value, str) else value


@writing()
def command_settle(*, command: Command, resolution: str, stamp: Stamp) -> Command:
    """A person has decided. What the tablet was told stays as it was."""
    before = {"state": command.state}
    command.state = "settled"
    command.save(update_fields=["state", "user", "order", "happened_at"])
    after = {"state": "settled", "resolution": resolution}
    change_record(stamp=stamp, verb="command_settle", entity=command, before=before, after=after)
    return command


def device_seq_done(*, device: Device, seq: int) -> None:
    """The next number that is waited for; it never goes back."""
    Device.objects.filter(pk=device.pk, next_seq__lte=seq).update(next_seq=seq + 1)
