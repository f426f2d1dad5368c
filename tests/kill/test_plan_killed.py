"""A worker is killed in the middle of a plan; started again, it finishes the plan, once."""

import os
import signal
from pathlib import Path

import pytest

from tests.kill.installation import ROOT, Installation

pytestmark = pytest.mark.kill

ASK = """
from orders import flow
from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.planning.models import Season
stamp = Stamp(by=User.objects.get(username="coordinator"), at=now())
flow.plan_season(season=Season.objects.get(), iterations=ROUNDS, stamp=stamp)
"""
RUN = "SELECT state, attempt, progress_done FROM planning_planrun"
VISITS = "SELECT COUNT(*) FROM planning_visit"
SERVED = """
SELECT COUNT(*), MAX(served) FROM
(SELECT SUM(share) AS served FROM planning_visitshare GROUP BY prescription_id) AS by_prescription
"""
ROUNDS = 20_000


@pytest.fixture
def installation(tmp_path):
    made = Installation(tmp_path)
    try:
        made.manage("migrate", "--verbosity", "0")
        made.manage("load_program", str(ROOT / "fixtures" / "demo"))
        made.manage("import_survey", str(ROOT / "fixtures" / "demo" / "survey.gpkg"), "--as", "coordinator")
        made.manage("work", "--as", "coordinator", "estimate")
        made.manage("work", "--as", "coordinator", "prescribe", "2027")
        yield made
    finally:
        made.remove()


def _children(pid: int) -> list[int]:
    """Processes whose parent this is, by Linux's own table."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                parent = int((entry / "stat").read_text().rsplit(")", 1)[1].split()[1])
            except OSError:
                continue
            if parent == pid:
                found.append(int(entry.name))
    return found


def _alive(pid: int) -> bool:
    try:
        return (Path("/proc") / str(pid) / "stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def test_it_finishes_the_plan_once_after_the_worker_was_killed(installation):
    installation.python(ASK.replace("ROUNDS", str(ROUNDS)))
    installation.start_beat()
    worker = installation.start_worker()
    installation.wait_for(lambda: installation.row(RUN)[2] > 0, "progress")
    children = _children(worker.pid)
    os.kill(worker.pid, signal.SIGKILL)
    state, attempt, done = installation.row(RUN)
    assert (state, attempt) == ("running", 1), f"{done} rounds were done: too few to be killed in the middle"
    installation.wait_for(lambda: not any(_alive(child) for child in children), "the end of the child")
    assert installation.row(VISITS) == (0,)

    installation.start_worker()
    installation.wait_for(lambda: installation.row(RUN)[0] == "done", "the end of the plan")
    prescriptions, most = installation.row(SERVED)
    assert installation.row(RUN)[1] == 2
    assert installation.row(VISITS)[0] > 100
    assert prescriptions > 100
    assert most == pytest.approx(1)
