"""A tablet's commands in the order of its numbers, whatever order they come in. A gap times out and never blocks."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from orders.commands.apply import command_apply, unreadable_flag
from orders.commands.envelope import Sent, app_version_of, envelope_take, kind_of
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.field.models import Command, Device
from orders.field.selectors.commands import command_known, command_next_waiting, commands_answered, has_gap_before
from orders.field.selectors.policy import field_policy
from orders.field.services.commands import Answer, Contact, command_answer, command_keep, device_seq_done
from orders.field.services.flags import About, flag_raise

NO_GAP = timedelta(0)


@dataclass(frozen=True)
class Batch:
    """`later` are commands that came with an earlier batch and had to wait until now."""

    answers: list[dict[str, Any]]
    later: list[dict[str, Any]]


@writing()
def command_take(*, contact: Contact, sent: Any) -> dict[str, Any]:
    """Keep it and, where its turn has come, apply it. What is known already gets the answer that it got."""
    envelope = envelope_take(sent)
    known = command_known(envelope.public_id)
    if known is not None and known.sha256 != envelope.sha256:
        return _take_other(contact, envelope)
    command = known or _keep(contact, envelope)
    if known is None and envelope.seq <= _next_seq(contact.device):
        command_apply(command=command, at=contact.at)
        device_seq_done(device=contact.device, seq=envelope.seq)
    return answer_shown(envelope, command)


def _take_other(contact: Contact, envelope: Sent) -> dict[str, Any]:
    """The id belongs to something else: the bytes are kept under another, and a person looks at it."""
    apart = envelope.apart()
    command = command_known(apart.public_id)
    if command is None:
        command = _keep(contact, apart)
        message = "The same id came before with other content. Both are kept."
        answer = Answer("unreadable", "other_content", message)
        unreadable_flag(command, answer, at=contact.at)
        command_answer(command=command, answer=answer, at=contact.at)
    return answer_shown(envelope, command)


def _keep(contact: Contact, sent: Sent) -> Command:
    return command_keep(
        contact=contact,
        public_id=sent.public_id,
        seq=sent.seq,
        kind=kind_of(sent.raw),
        raw=sent.raw,
        sha256=sent.sha256,
        app_version=app_version_of(sent.raw),
    )


def _next_seq(device: Device) -> int:
    """As it stands inside this transaction."""
    return Device.objects.values_list("next_seq", flat=True).get(pk=device.pk)


def answer_shown(sent: Sent, command: Command) -> dict[str, Any]:
    told = command.answer or {"state": "waiting", "code": "", "message": "", "errors": [], "flags": []}
    return {"id": sent.told_id, "seq": sent.seq, **told}


def queue_drain(*, device: Device, at: datetime, gap: timedelta | None = None) -> Iterable[Command]:
    """Apply what waits and may be applied now, one transaction each; yields them as they are done. `gap` is how long a
    number that has not come is waited for."""
    patience = timedelta(minutes=field_policy().gap_minutes) if gap is None else gap
    while command := _drain_one(device=device, at=at, patience=patience):
        yield command


@writing()
def _drain_one(*, device: Device, at: datetime, patience: timedelta) -> Command | None:
    command = command_next_waiting(device)
    if command is None:
        return None
    next_seq = _next_seq(device)
    if has_gap_before(command, next_seq):
        if command.received_at > at - patience:
            return None
        _gap_flag(command, next_seq, at)
    command_apply(command=command, at=at)
    device_seq_done(device=device, seq=command.seq)
    return command


def _gap_flag(command: Command, next_seq: int, at: datetime) -> None:
    """Those that are missing are applied when they come, out of their turn."""
    flag_raise(
        key=f"gap:{command.device.public_id}:{command.seq}",
        kind="gap",
        severity="note",
        title=f"{command.device}: of its numbers {next_seq} to {command.seq - 1} some have not come.",
        about=About(command=command),
        stamp=Stamp(by=None, at=at),
    )


def batch_take(*, contact: Contact, commands: list[Any], is_late: Callable[[], bool]) -> Batch:
    """A batch in the order of its numbers. Where time runs out the rest gets no answer and is sent again."""
    sent = sorted(((envelope_take(one), one) for one in commands), key=lambda pair: pair[0].seq)
    answered = commands_answered([envelope.public_id for envelope, _ in sent])
    answers: dict[UUID, dict[str, Any]] = {}
    for envelope, one in sent:
        if is_late():
            break
        known = answered.get(envelope.public_id)
        if known is not None and known.sha256 == envelope.sha256:
            answers[envelope.public_id] = answer_shown(envelope, known)
        else:
            answers[envelope.public_id] = command_take(contact=contact, sent=one)
    later: dict[UUID, dict[str, Any]] = {}
    for command in queue_drain(device=contact.device, at=contact.at):
        told = {"id": str(command.public_id), "seq": command.seq, **(command.answer or {})}
        (answers if command.public_id in answers else later)[command.public_id] = told
        if is_late():
            break
    return Batch(list(answers.values()), list(later.values()))
