"""A whole plan at the exact solver hears that it is to stop."""

from threading import Event
from typing import Any

import pytest

from estimating import plan_repair

LONG = 60  # seconds after which a solver that nobody stops gives up, and the test fails


class _Solver:
    """Ends when it is told to."""

    def __init__(self):
        self.stopped = Event()

    def solve(self, model):
        return "stopped" if self.stopped.wait(LONG) else "never stopped"

    def stop_search(self):
        self.stopped.set()


def _solved(solver, going):
    stand_in: Any = solver
    model: Any = None
    return plan_repair._solved(stand_in, model, going)


@pytest.fixture(autouse=True)
def _often(monkeypatch):
    monkeypatch.setattr(plan_repair, "ASK_SECONDS", 0.01)


def test_it_stops_the_solver_when_it_may_not_go_on():
    answers = iter([True, True, False])
    assert _solved(_Solver(), lambda: next(answers, False)) == "stopped"


def test_it_leaves_no_solver_behind_where_the_asking_fails():
    solver = _Solver()

    def going():
        raise RuntimeError("the lease is lost")

    with pytest.raises(RuntimeError, match="lease"):
        _solved(solver, going)
    assert solver.stopped.is_set()


def test_it_lets_a_solver_end_by_itself():
    solver = _Solver()
    solver.stopped.set()
    assert _solved(solver, lambda: True) == "stopped"
