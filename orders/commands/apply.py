"""One command becomes facts, or is held for a person: effect and answer are written in one transaction."""

import logging
from collections.abc import Iterable
from datetime import datetime

from django.db import InterfaceError, OperationalError, transaction

from estimating.errors import EstimatingError
from orders.commands.envelope import Unreadable
from orders.commands.healing import heal_waiting
from orders.commands.hearing import command_hear
from orders.common.errors import FieldError, Refusal
from orders.common.models.user import ADMINISTRATOR, COORDINATOR
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.field.models import Command
from orders.field.services.commands import Answer, command_answer
from orders.field.services.flags import About, flag_raise

LOG = logging.getLogger("fencerow.commands")


@writing()
def command_apply(*, command: Command, at: datetime) -> Command:
    """Read it and let its handler write. A no keeps the bytes and raises a flag; nothing of a half effect stays."""
    try:
        with transaction.atomic():
            command_hear(command)
            heal_waiting(command, at=at)
        answer = Answer("applied")
    except Unreadable as no:
        answer = Answer("unreadable", no.code, no.message, _told(no.errors))
    except Refusal as no:
        answer = Answer("held", no.code, no.detail, _told(no.errors))
        _flag(command, "held", no.detail, at=at, data={"code": no.code, "errors": list(answer.errors), **no.data})
    except EstimatingError as no:
        answer = Answer("held", no.code, no.message)
        _flag(command, "held", no.message, at=at, data={"code": no.code})
    except (InterfaceError, OperationalError):
        raise  # the database is away or busy: nothing was decided, and the tablet sends it again
    except Exception:
        LOG.exception("Command %s could not be applied.", command.public_id)
        answer = Answer("held", "server_error", "The server could not take this. It is kept, and somebody looks at it.")
        roles = (COORDINATOR, ADMINISTRATOR)
        _flag(command, "server_error", f"A command of the kind {command.kind} failed.", at=at, roles=roles)
    if answer.state == "unreadable":
        unreadable_flag(command, answer, at=at)
    return command_answer(command=command, answer=answer, at=at)


def unreadable_flag(command: Command, answer: Answer, *, at: datetime) -> None:
    title = f"{command.device}: something was sent that cannot be read. {answer.message}"
    _flag(command, "unreadable", title, at=at, data={"code": answer.code, "errors": list(answer.errors)})


def _flag(
    command: Command,
    kind: str,
    title: str,
    *,
    at: datetime,
    data: dict[str, object] | None = None,
    roles: Iterable[str] = (COORDINATOR,),
) -> None:
    flag_raise(
        key=f"{kind}:{command.public_id}",
        kind=kind,
        severity="settle",
        title=title,
        data=data,
        about=About(order=command.order, command=command),
        for_roles=roles,
        stamp=Stamp(by=command.user, at=at),
    )


def _told(errors: Iterable[FieldError]) -> tuple[dict[str, object], ...]:
    return tuple(error.as_dict() for error in errors)
