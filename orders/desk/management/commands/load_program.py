"""Load a program's master data: manage.py load_program FOLDER."""

from argparse import ArgumentParser
from datetime import datetime
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from orders.common.clock import now
from orders.common.errors import FieldError, Refusal
from orders.common.stamp import Stamp
from orders.desk.program import program_load


class Command(BaseCommand):
    help = "Load sites, species, people, crews, supplies and funds from a folder of JSON documents: all, or nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", type=Path)
        parser.add_argument(
            "--as-of", type=datetime.fromisoformat, help="The moment to record it under, with its zone; otherwise now."
        )

    def handle(self, *args: Any, folder: Path, as_of: datetime | None, **options: Any) -> None:
        if as_of is not None and as_of.tzinfo is None:
            raise CommandError("--as-of needs a zone, as in 2026-12-01T15:00:00Z.")
        try:
            counts = program_load(folder, stamp=Stamp(by=None, at=as_of or now()))
        except Refusal as refusal:
            raise CommandError("\n".join([refusal.detail, *map(_said, refusal.errors)])) from refusal
        for name, count in counts.items():
            self.stdout.write(f"{count:5}  {name.replace('_', ' ')}")


def _said(error: FieldError) -> str:
    place = error.field if error.row is None else f"{error.field}, entry {error.row}"
    return f"{place}: {error.message}"
