"""Held commands whose refusal was that something has not come, tried again when it comes.

One tablet's use of a mix may be here before the other tablet's mix. It is held with a flag, and its answer is final
like every other; nobody is made to wait for a tablet that may stay in the woods for days. As soon as the mix is
written, the held one is applied and the program settles its flag: in any order the facts are the same. A repeat still
gets the answer that was given, as it does after a person has decided.
"""

import json
import logging
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import InterfaceError, OperationalError, transaction

from estimating.errors import EstimatingError
from orders.commands.hearing import command_hear
from orders.commands.lookups import WAITS_FOR
from orders.common.errors import Refusal
from orders.common.stamp import Stamp
from orders.field.models import Command, Flag
from orders.field.selectors.flags import flags_waiting
from orders.field.services.commands import command_settle
from orders.field.services.flags import flag_settle, flag_wait

LOG = logging.getLogger("fencerow.commands")
KEPT_TRYING = timedelta(days=60)  # invented: longer than any tablet should stay away with work on it
CAME_LATER = "came_later"
NOTE = "What it names has come, and it is applied."


def heal_waiting(command: Command, *, at: datetime) -> None:
    """After `command` was applied, inside its transaction: what waits for an id that its body names, and then what
    waits for those."""
    arrived = _ids(command)
    for flag in flags_waiting(since=at - KEPT_TRYING) if arrived else ():
        if arrived.intersection(flag.data[WAITS_FOR]):
            _try(flag, at)


def _ids(command: Command) -> set[str]:
    body = json.loads(command.raw).get("body")
    return {value.lower() for value in _texts(body) if _is_id(value)}


def _texts(body: Any) -> Iterable[str]:
    return (value for value in body.values() if isinstance(value, str)) if isinstance(body, dict) else ()


def _is_id(text: str) -> bool:
    try:
        return str(UUID(text)) == text.lower()
    except ValueError:
        return False


def _try(flag: Flag, at: datetime) -> None:
    """Nothing that it does may stop the command that has come."""
    flag = Flag.objects.select_related("command__device").get(pk=flag.pk)
    held = flag.command
    if held is None or held.state != "held":
        return  # one that was tried before it has brought this along
    stamp = Stamp(by=None, at=at)
    try:
        with transaction.atomic():
            command_hear(held)
            command_settle(command=held, resolution=CAME_LATER, stamp=stamp)
            flag_settle(flag=flag, resolution=CAME_LATER, note=NOTE, stamp=stamp)
    except Refusal as no:
        flag_wait(flag=flag, waits_for=no.data.get(WAITS_FOR, []))
    except EstimatingError as no:
        LOG.info("Command %s stays held: %s", held.public_id, no)
    except (InterfaceError, OperationalError):
        raise
    except Exception:
        LOG.exception("Command %s could not be tried again.", held.public_id)
    else:
        heal_waiting(held, at=at)
