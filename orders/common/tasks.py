"""The wake-up calls. Each takes an id at most; the work is in a child process: the web keeps its interpreter."""

import os
import subprocess
import sys
import time
from uuid import UUID

from celery import shared_task
from django.conf import settings

from orders.common.clock import now
from orders.common.errors import NotFound
from orders.common.models import Run
from orders.common.runs import run_claim, run_find, run_give_back, run_renew
from orders.common.runs import runs_sweep as sweep


@shared_task(name="orders.common.tasks.run_work")
def run_work(run_id: str) -> None:
    try:
        run = run_find(UUID(run_id))
    except NotFound:
        return  # the row's transaction was undone on another database, or the row is of an older installation
    attempt = run_claim(run, at=now())
    if attempt is not None:
        _work_in_child(run, attempt)


@shared_task(name="orders.common.tasks.runs_sweep")
def runs_sweep() -> None:
    sweep(at=now())


def _work_in_child(run: Run, attempt: int) -> None:
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "run_job", str(run.public_id), str(attempt)]
    environment = {**os.environ, "FENCEROW_PARENT_PID": str(os.getpid())}
    with subprocess.Popen(command, env=environment, stdin=subprocess.DEVNULL) as child:
        renewed = time.monotonic()
        while child.poll() is None:
            time.sleep(0.1)
            if time.monotonic() - renewed > settings.RUN_LEASE_SECONDS / 3:
                renewed = time.monotonic()
                if not run_renew(run, attempt, at=now()):
                    child.terminate()
    if child.returncode != 0:
        run_give_back(run, attempt, at=now(), error=f"The worker's child ended with code {child.returncode}.")
