"""The plan's background jobs: read a snapshot, compute, write the result once; then tighten the bound."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from django.conf import settings

from estimating.plan import Plan, PlanInput
from estimating.plan_bound import COARSE_ROUNDS, QUICK_ROUNDS, bounds, plan_bound
from estimating.plan_check import check_plan
from estimating.plan_placing import why_placed
from estimating.schedule import lost_cents, schedule
from orders.common.models.run import QUEUED, RUNNING
from orders.common.runs import Worker, run_wake
from orders.planning.convert import Demand, demand_of
from orders.planning.findings import figures_of, fund_rows, left_out_rows, moved_rows
from orders.planning.models import PlanBoundRun, PlanRun
from orders.planning.proposing import visits_propose

# A bound that so many further steps have not raised by this share of itself is left as it is.
PATIENCE_STEPS = 30
LEAST_GAIN = 0.001


def plan_job(worker: Worker) -> None:
    """Assign visits to crews and days. Nothing is held open while it computes; stopped, the best so far is kept."""
    run = PlanRun.objects.select_related("season").get(pk=worker.run.pk)
    asked = demand_of(run)
    live = _Live(worker)
    least = plan_bound(asked.plan_input).least_cents
    worker.show(bound_cents=least)
    plan = schedule(
        asked.plan_input,
        iterations=run.iterations,
        progress=live.progress,
        seed=run.seed,
        exact_work=run.exact_work,
        told=live.told,
    )
    values = _result(run, asked, plan, live) | {"bound_cents": least}
    because = {} if run.purpose == "what_if" else why_placed(asked.plan_input, plan.assignments)
    with worker.finishing():
        if run.purpose != "what_if":
            visits_propose(run, asked, plan, because)
        PlanRun.objects.filter(pk=run.pk).update(bound_at=worker.clock(), **values)
        if run.purpose != "what_if":
            run_wake(PlanBoundRun.objects.create(plan_run=run, asked_by=run.asked_by, asked_at=worker.clock()))


class _Live:
    """Tells the run's row how the search goes."""

    def __init__(self, worker: Worker) -> None:
        self.worker, self.done = worker, 0
        self.course: list[list[int]] = []

    def progress(self, done: int, total: int) -> bool:
        self.done = done
        return self.worker.keep_going(done, total)

    def told(self, cents: int) -> None:
        """A better plan. Of several in one round the last counts."""
        if self.course and self.course[-1][0] == self.done:
            self.course.pop()
        self.course.append([self.done, cents])
        self.worker.show(start_lost_cents=self.course[0][1], lost_cents=cents, course=self.course)


def _result(run: PlanRun, asked: Demand, plan: Plan, live: _Live) -> dict[str, Any]:
    left_out = left_out_rows(asked, plan)
    lost = lost_cents(asked.plan_input, plan)
    return {
        "inputs_fingerprint": asked.fingerprint,
        "left_out": left_out,
        "cost_cents": plan.cost_cents,
        "value_cents": plan.value_cents,
        "start_lost_cents": live.course[0][1] if live.course else lost,
        "lost_cents": lost,
        "course": live.course,
        "was_stopped": plan.stopped,
        "funds": fund_rows(run.season, plan),
        "moved": moved_rows(asked, plan) if run.purpose == "replan" else [],
        "faults": list(check_plan(asked.plan_input, plan)),
        "figures": figures_of(asked, plan, len(left_out)),
    }


def bound_job(worker: Worker) -> None:
    """Tighten the bound of a finished plan, as far as the settings let it or until it hardly moves.

    It ends early when it meets the plan, when the plan was dropped or its inputs have changed since, and when a newer
    plan of the season is on its way.
    """
    row = PlanBoundRun.objects.select_related("plan_run__season").get(pk=worker.run.pk)
    run = row.plan_run
    asked = demand_of(run)
    steps, least = 0, run.bound_cents
    if asked.fingerprint == run.inputs_fingerprint:
        for steps, least in _tightened(asked.plan_input, run.lost_cents or 0):
            worker.progress(steps, settings.PLAN_BOUND_STEPS)
            if worker.show(steps=steps):
                _bound_raise(run, least, worker.clock())
            if _superseded(run):
                break
    with worker.finishing():
        PlanBoundRun.objects.filter(pk=row.pk).update(steps=steps)
        if least is not None:
            _bound_raise(run, least, worker.clock())


def _bound_raise(run: PlanRun, least: int, at: datetime) -> None:
    """A bound only rises, whoever writes it last."""
    PlanRun.objects.filter(pk=run.pk, bound_cents__lt=least).update(bound_cents=least, bound_at=at)


def _tightened(given: PlanInput, lost: int) -> Iterator[tuple[int, int]]:
    """Steps taken and the bound after each, up to what the plan itself loses."""
    level, since = None, QUICK_ROUNDS + COARSE_ROUNDS
    for found in bounds(given):
        yield found.rounds, found.least_cents
        if found.rounds >= settings.PLAN_BOUND_STEPS or found.least_cents >= lost:
            return
        if level is None or found.least_cents > level + LEAST_GAIN * abs(level):
            level, since = found.least_cents, max(since, found.rounds)
        elif found.rounds - since >= PATIENCE_STEPS:
            return


def _superseded(run: PlanRun) -> bool:
    newer = PlanRun.objects.filter(season_id=run.season_id, pk__gt=run.pk, state__in=[QUEUED, RUNNING])
    return newer.exists() or PlanRun.objects.filter(pk=run.pk, dropped_at__isnull=False).exists()
