"""The demonstration: load the invented program, walk it from survey to cost report, then serve it."""

import json
import shutil
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection, connections

from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.management.commands.serve import port_refuse
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.demo.scene import FOLDER
from orders.desk.demo.walk import walk
from orders.desk.table import report_lines
from orders.field.services.devices import enrollment_code_make

MARKER = "this-is-a-demo"
TABLET_USER = "lead.bottoms"


class Command(BaseCommand):
    help = "Load the invented demo program, walk it through a season, and serve it."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="Stop after the walk; serve nothing.")
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, once: bool, host: str, port: int, **options: Any) -> None:
        if not once:
            port_refuse(host, port)
        _begin_clean()
        self._tell("Fencerow: one season, from a survey to what it cost. All people and places are invented.\n")
        call_command("migrate", verbosity=0)
        self._tell("Database   made, embedded SQLite")
        try:
            report = walk(self._tell)
        except Refusal as refusal:
            raise CommandError(_words(refusal)) from refusal
        self._tell("")
        for line in report_lines(report):
            self._tell(line)
        if once:
            self._tell("\nDone. Without --once the same is served as pages and an API.")
            return
        self._tell(_addresses(host, port, _tablet_code()))
        connections.close_all()
        call_command("serve", host=host, port=port)

    def _tell(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def _begin_clean() -> None:
    """Each run begins with the same data; a database that is not a demo's is never touched."""
    if connection.vendor != "sqlite":
        raise CommandError("The demo uses the embedded database. Unset DATABASE_URL to run it.")
    marker = Path(settings.DATA_DIR) / MARKER
    database = Path(connection.settings_dict["NAME"])
    if database.exists() and not marker.exists():
        message = f"{database.name} in the data folder is not a demo's. Set DATA_DIR to another folder for the demo."
        raise CommandError(message)
    connections.close_all()
    for path in (database, Path(f"{database}-wal"), Path(f"{database}-shm")):
        path.unlink(missing_ok=True)
    shutil.rmtree(default_storage.path(""), ignore_errors=True)  # the photos of the demo before
    marker.write_text("The demo begins clean each time: it deletes the database in this folder.\n")


def _tablet_code() -> str:
    """For trying the tablet app as a crew lead: it works once, for a day."""
    _, text = enrollment_code_make(
        user=User.objects.get(username=TABLET_USER), stamp=Stamp(by=User.objects.get(username="coordinator"), at=now())
    )
    return text


def _words(refusal: Refusal) -> str:
    return "\n".join([refusal.detail, *(f"  {error.field}: {error.message}" for error in refusal.errors)])


def _addresses(host: str, port: int, code: str) -> str:
    users = json.loads((FOLDER / "users.json").read_text(encoding="utf-8"))["users"]
    logins = "\n".join(f"  {user['username']:<16} {user['password']:<28} {', '.join(user['roles'])}" for user in users)
    shown = f"http://{host}:{port}"
    return (
        f"\nCost report  {shown}/reports/costs/   (log in as finance)\n"
        f"Tablet app   {shown}/tablet/   (code {code}: makes this browser a tablet of {TABLET_USER})\n"
        f"API docs     {shown}/api/docs\nAdmin        {shown}/admin/   (log in as administrator)\n\n"
        f"Logins\n{logins}\n\nCtrl-C stops it.\n"
    )
