"""Field work from the terminal: who is out, what is flagged, which tablets there are; codes, revoking, unsent work."""

from collections.abc import Iterable
from pathlib import Path
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError, CommandParser

from orders.commands.export import export_import
from orders.common.clock import now
from orders.common.errors import NotFound, Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.field_lines import flag_lines, imported_words, out_lines, tablet_lines
from orders.desk.navigation import DESK, GROUND, page_opens_to
from orders.field.selectors.devices import device_get
from orders.field.services.devices import device_revoke, enrollment_code_make

ROLES = {"out": GROUND, "flags": GROUND}  # whatever else: the desk


class Command(BaseCommand):
    help = "Look at field work, or change which tablets may send it. `manage.py field STEP --help` tells its words."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--as", dest="username", required=True, help="The user who asks.")
        steps = parser.add_subparsers(dest="step", required=True)
        steps.add_parser("out", help="Who is outside, the late ones first.")
        flags = steps.add_parser("flags", help="What somebody must look at.")
        flags.add_argument("--settled", action="store_true", help="Those that were settled.")
        steps.add_parser("tablets", help="Which tablets there are, and what each last said of itself.")
        enroll = steps.add_parser("enroll", help="Make a code that puts a person on a tablet.")
        enroll.add_argument("person", metavar="user", help="The person's user name.")
        revoke = steps.add_parser("revoke", help="Shut a tablet out from its next contact on.")
        revoke.add_argument("tablet", type=_id, help="The tablet's id, as `tablets` prints it.")
        revoke.add_argument("--because", required=True, help="The reason.")
        unsent = steps.add_parser("unsent", help="Bring in a tablet's file of unsent work.")
        unsent.add_argument("file", type=Path)

    def handle(self, *args: Any, username: str, step: str, **options: Any) -> None:
        try:
            actor = _user(username)
            page_opens_to(actor, ROLES.get(step, DESK), "This step")
            for line in self._lines(step, Stamp(by=actor, at=now()), options):
                self.stdout.write(line)
        except Refusal as refusal:
            raise CommandError(f"{refusal.title}. {refusal.detail}") from refusal

    def _lines(self, step: str, stamp: Stamp, options: dict[str, Any]) -> Iterable[str]:
        assert stamp.by is not None
        if step == "out":
            return out_lines(stamp.by, stamp.at)
        if step == "flags":
            return flag_lines(stamp.by, stamp.at, settled=options["settled"])
        if step == "tablets":
            return tablet_lines(stamp.at)
        return [CHANGES[step](stamp, options)]


def _enroll(stamp: Stamp, options: dict[str, Any]) -> str:
    code, text = enrollment_code_make(user=_user(options["person"]), stamp=stamp)
    return f"{text[:4]} {text[4:]} for {code.user}, once, until {code.expires_at:%Y-%m-%d %H:%M} UTC"


def _revoke(stamp: Stamp, options: dict[str, Any]) -> str:
    device = device_revoke(device=device_get(options["tablet"]), stamp=stamp.because(options["because"]))
    return f"{device} is revoked from its next contact on."


def _unsent(stamp: Stamp, options: dict[str, Any]) -> str:
    try:
        data = options["file"].read_bytes()
    except OSError as error:
        raise CommandError(f"{options['file']} cannot be read: {error}") from error
    return imported_words(export_import(data=data, stamp=stamp))


CHANGES = {"enroll": _enroll, "revoke": _revoke, "unsent": _unsent}


def _user(username: str) -> User:
    found = User.objects.filter(username=username, is_active=True).first()
    if found is None:
        raise NotFound(f"There is no user {username}.")
    return found


def _id(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError as error:
        raise CommandError(f"{text} is no id.") from error
