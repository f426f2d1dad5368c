"""A season of reminder runs in a process that kills itself in the middle: run by test_killed_season.py.

    python -m tests.reminders.killed_run FOLDER SEED

It goes on from the instant that the process before it had reached. Before the n-th statement that it sends to the
database, n drawn from the seed, it is gone as by a power cut: SIGKILL, with nothing tidied up. Seed 0: never.
"""

import os
import random
import signal
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import django

FIRST, LAST = datetime(2027, 7, 20, 14, tzinfo=UTC), datetime(2027, 8, 20, 14, tzinfo=UTC)
BETWEEN = timedelta(hours=8)
MOST_STATEMENTS = 800


def main(folder: Path, seed: int) -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    django.setup()
    from django.conf import settings
    from django.db import connection

    from orders.reminders.services import reminders_run

    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = str(folder / "mail")
    left = random.Random(seed).randint(1, MOST_STATEMENTS) if seed else -1

    def count_down(execute, sql, params, many, context):
        nonlocal left
        left -= 1
        if left == 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return execute(sql, params, many, context)

    reached = folder / "reached"
    at = datetime.fromisoformat(reached.read_text()) if reached.exists() else FIRST
    with connection.execute_wrapper(count_down):
        while at <= LAST:
            reminders_run(at=at)
            at += BETWEEN
            written = folder / "reached.new"
            written.write_text(at.isoformat())
            written.replace(reached)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
