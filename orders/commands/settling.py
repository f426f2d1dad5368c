"""A person decides what becomes of a flag, and with it of a command that was held."""

from orders import corrections
from orders.bodies.statements import statement
from orders.commands.doubts.closing import close_doubts
from orders.commands.envelope import Unreadable
from orders.commands.healing import heal_waiting
from orders.commands.hearing import command_hear, command_heard
from orders.common.errors import FieldError, Invalid
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.field.models import Command, Flag
from orders.field.services.commands import command_settle
from orders.field.services.flags import flag_settle

APPLY_AGAIN, TAKE_INSTEAD, PUT_ASIDE, SEEN = "apply_again", "take_instead", "put_aside", "seen"
RESOLUTIONS = [
    (APPLY_AGAIN, "Apply it now"),
    (TAKE_INSTEAD, "Take it instead of the close-out that stands"),
    (PUT_ASIDE, "Put it aside"),
    (SEEN, "Looked at"),
]
OF_COMMANDS = {"held", "server_error", "unreadable"}  # kinds of flags that stand for their command


def resolutions_open(flag: Flag) -> list[tuple[str, str]]:
    """What may come of it now: codes and words."""
    codes = _codes_open(flag)
    return [(code, words) for code, words in RESOLUTIONS if code in codes]


def _codes_open(flag: Flag) -> list[str]:
    command = flag.command
    if flag.state != "open":
        return []
    if command is None or flag.kind not in OF_COMMANDS or command.state not in {"held", "unreadable"}:
        return [SEEN]
    is_other_close = command.kind == "close-order" and command.order is not None and command.order.state == "closed"
    return [TAKE_INSTEAD, PUT_ASIDE] if is_other_close else [APPLY_AGAIN, PUT_ASIDE]


@writing()
def settle_flag(*, flag: Flag, resolution: str, note: str, stamp: Stamp) -> Flag:
    """The command, if the flag stands for one, is applied, taken instead or put aside, and the flag is settled."""
    allowed = _codes_open(flag)
    if allowed and resolution not in allowed:
        raise Invalid("That cannot come of it.", [FieldError("resolution", f"must be of {', '.join(allowed)}")])
    if flag.command is not None and flag.state == "open" and resolution != SEEN:
        _settle_command(flag.command, resolution, stamp.because(note.strip()))
    return flag_settle(flag=flag, resolution=resolution, note=note, stamp=stamp)


def _settle_command(command: Command, resolution: str, stamp: Stamp) -> None:
    """A refusal goes to the person who decides: then nothing is changed."""
    try:
        if resolution == APPLY_AGAIN:
            command_hear(command, decided_by=stamp.by)
        elif resolution == TAKE_INSTEAD:
            _take_instead(command, stamp)
    except Unreadable as no:
        raise Invalid(no.message, no.errors) from no
    command_settle(command=command, resolution=resolution, stamp=stamp)
    if resolution == APPLY_AGAIN:
        heal_waiting(command, at=stamp.at)


def _take_instead(command: Command, stamp: Stamp) -> None:
    """The held close-out amends the one that stands, in the name of who decides and with the reason."""
    _, heard = command_heard(command, decided_by=stamp.by)
    assert heard.order is not None  # kinds of close-outs name one
    close_out = corrections.amend_close_out(order=heard.order, statement=statement(heard.body), stamp=stamp)
    close_doubts(heard, close_out)
