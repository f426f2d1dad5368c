"""Any report from the terminal, as a file: the same table and the same writers as behind the pages."""

import shutil
import tempfile
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.reports.about import about_of
from orders.reports.catalog import REPORTS, report_table
from orders.reports.files import table_write
from orders.reports.services import TABLE_FORMATS


class Command(BaseCommand):
    help = "Write a report to a file. Reports: " + ", ".join(sorted(REPORTS))

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("code", help="Which report.")
        parser.add_argument("--as", dest="username", required=True, help="The user with whose role it is made.")
        parser.add_argument("--query", action="append", default=[], metavar="WORD=VALUE", help="May be given again.")
        parser.add_argument("--format", dest="file_format", choices=TABLE_FORMATS, default="csv")
        parser.add_argument("--out", type=Path, required=True, metavar="FILE")

    def handle(self, *args: Any, code: str, username: str, query: list[str], **options: Any) -> None:
        user = User.objects.filter(username=username).first()
        if user is None:
            raise CommandError(f"There is no user {username}.")
        out: Path = options["out"]
        if not out.parent.is_dir():
            raise CommandError(f"There is no folder {out.parent}.")
        try:
            table = report_table(user, code, dict(_said(word) for word in query))
            with tempfile.TemporaryDirectory() as folder:
                about = about_of(user, now())
                written = table_write(table, options["file_format"], Path(folder), name="report", about=about)
                shutil.move(written.path, out)
        except Refusal as refusal:
            named = [f"  {error.field}: {error.message}" for error in refusal.errors]
            raise CommandError("\n".join([refusal.detail, *named])) from refusal
        self.stdout.write(f"{out}: {written.rows} rows, {written.size_bytes} bytes, SHA-256 {written.sha256}")


def _said(word: str) -> tuple[str, str]:
    name, sign, value = word.partition("=")
    if not (name and sign):
        raise CommandError(f"{word} is no WORD=VALUE.")
    return name, value
