"""One attempt at one run, in a process of its own. Started by the worker; a person needs it only to look closer."""

import os
import sys
import threading
import time
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandParser

from orders.common.clock import now
from orders.common.runs import run_find, run_perform


def _end_with_parent(parent: int) -> None:
    while os.getppid() == parent:
        time.sleep(0.5)
    os._exit(70)


class Command(BaseCommand):
    help = "Do one attempt at a background run."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("run_id", type=UUID)
        parser.add_argument("attempt", type=int)

    def handle(self, *args: Any, run_id: UUID, attempt: int, **options: Any) -> None:
        if parent := os.environ.get("FENCEROW_PARENT_PID"):
            threading.Thread(target=_end_with_parent, args=[int(parent)], daemon=True).start()
        state = run_perform(run_find(run_id), attempt, clock=now)
        if state == "fenced":
            self.stderr.write("Another attempt has taken this run over; nothing was written.")
            sys.exit(3)
