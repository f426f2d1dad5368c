"""A user with roles, from the terminal: how the first administrator of a new program comes to be."""

import getpass
import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import Role
from orders.common.services import user_add
from orders.common.stamp import Stamp


class Command(BaseCommand):
    help = "Add a user with roles. The password is asked for, or read from standard input."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("username")
        parser.add_argument("--role", action="append", required=True, help="A role's code; may be given several times.")
        parser.add_argument("--email", default="")

    def handle(self, *args: Any, username: str, role: list[str], email: str, **options: Any) -> None:
        stamp = Stamp(by=None, at=now(), reason="Added from the terminal.")
        try:
            user_add(stamp=stamp, username=username, password=_password(), roles=role, email=email)
        except Refusal as refusal:
            known = ", ".join(Role.objects.order_by("code").values_list("code", flat=True))
            lines = [f"  {error.field}: {error.message}" for error in refusal.errors]
            raise CommandError("\n".join([str(refusal), *lines, f"  Roles: {known}."])) from refusal
        self.stdout.write(f"{username} may log in as {', '.join(role)}.")


def _password() -> str:
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\n")
    password = getpass.getpass("Password: ")
    if getpass.getpass("Once more: ") != password:
        raise CommandError("The two differ; nothing was added.")
    return password
