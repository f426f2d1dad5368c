"""Background work: the row is the job.

A run row is written in the same transaction as its cause; after the commit a worker is woken by the run's id. The
worker claims the row by compare-and-set with a lease and an attempt number, and works in a child process that may write
only while its attempt is the current one. A sweep wakes workers again for rows that wait or whose lease ran out.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from celery import current_app
from django.conf import settings
from django.db import transaction
from django.db.models import Q

from orders.common.errors import NotFound, WrongState
from orders.common.models import Run, User
from orders.common.models.run import CANCELED, DONE, FAILED, QUEUED, RUNNING
from orders.common.models.user import ADMINISTRATOR, COORDINATOR
from orders.common.transactions import writing

Job = Callable[["Worker"], None]
Tell = Callable[[int, int, str], None]  # done, total, note
_JOBS: dict[str, tuple[type[Run], Job]] = {}


class Fenced(Exception):
    """Another attempt holds the row now; this one must stop without writing."""


class CancelAsked(Exception):
    """Somebody asked to stop."""


def job_register(model: type[Run], job: Job) -> None:
    """Called once a kind, from the stage's AppConfig.ready()."""
    _JOBS[model.kind] = (model, job)


def run_models() -> list[type[Run]]:
    return [model for model, _ in _JOBS.values()]


def run_find(run_id: UUID) -> Run:
    for model in run_models():
        if found := model._default_manager.filter(public_id=run_id).first():
            return found
    raise NotFound(f"There is no run {run_id}.")


def run_seen_by(actor: User, run_id: UUID) -> Run:
    """For the desk, and for whoever asked for the run; for everybody else there is none."""
    run = run_find(run_id)
    if run.asked_by_id != actor.pk and not actor.has_role(COORDINATOR, ADMINISTRATOR):
        raise NotFound(f"There is no run {run_id}.")
    return run


def run_wake(run: Run) -> None:
    """After the commit; a wake-up that is lost is made good by the sweep."""
    run_id = str(run.public_id)
    transaction.on_commit(lambda: _send(run_id), robust=True)


def _send(run_id: str) -> None:
    current_app.send_task("orders.common.tasks.run_work", [run_id])


def run_claim(run: Run, *, at: datetime) -> int | None:
    """The attempt number if this caller may work on the row now, else None."""
    if not settings.REDIS_URL and _another_is_busy(run, at=at):
        return None  # embedded: one heavy job at a time; the sweep comes back for this one
    free = Q(state=QUEUED) | Q(state=RUNNING, lease_until__lt=at)
    claimed = type(run)._default_manager.filter(free, pk=run.pk, attempt=run.attempt, attempt__lt=settings.RUN_ATTEMPTS)
    attempt = run.attempt + 1
    return attempt if claimed.update(state=RUNNING, attempt=attempt, lease_until=_lease(at), error="") else None


def _another_is_busy(run: Run, *, at: datetime) -> bool:
    return any(
        model._default_manager.filter(state=RUNNING, lease_until__gte=at).exclude(public_id=run.public_id).exists()
        for model in run_models()
    )


def _lease(at: datetime) -> datetime:
    return at + timedelta(seconds=settings.RUN_LEASE_SECONDS)


def _held(run: Run, attempt: int) -> Any:
    return type(run)._default_manager.filter(pk=run.pk, state=RUNNING, attempt=attempt)


def run_renew(run: Run, attempt: int, *, at: datetime) -> bool:
    return bool(_held(run, attempt).update(lease_until=_lease(at)))


def run_end(run: Run, attempt: int, *, state: str, at: datetime, error: str = "") -> bool:
    """Compare-and-set on the attempt: a late attempt changes nothing."""
    return bool(_held(run, attempt).update(state=state, error=error, lease_until=None, finished_at=at))


def run_give_back(run: Run, attempt: int, *, at: datetime, error: str) -> None:
    """The child died. Try again from the row, or give up when the attempts are used."""
    if attempt >= settings.RUN_ATTEMPTS:
        run_end(run, attempt, state=FAILED, at=at, error=f"Gave up after {attempt} attempts. {error}")
    else:
        _held(run, attempt).update(state=QUEUED, lease_until=None, error=error)


def run_cancel(run: Run, *, at: datetime) -> None:
    waiting = type(run)._default_manager.filter(pk=run.pk, state=QUEUED)
    if waiting.update(state=CANCELED, finished_at=at, cancel_asked=True):
        return
    if not type(run)._default_manager.filter(pk=run.pk, state=RUNNING).update(cancel_asked=True):
        raise WrongState("This run is over already; there is nothing to cancel.")


def runs_due(*, at: datetime) -> list[Run]:
    """Rows that wait, or whose worker has fallen silent."""
    due: list[Run] = []
    for model in run_models():
        silent = Q(state=QUEUED) | Q(state=RUNNING, lease_until__lt=at)
        due += model._default_manager.filter(silent).order_by("id")
    return due


def runs_sweep(*, at: datetime) -> int:
    """Wake a worker for each row that is due; close those whose attempts are used up. Returns how many were woken."""
    woken = 0
    for run in runs_due(at=at):
        if run.attempt >= settings.RUN_ATTEMPTS:
            run_end(run, run.attempt, state=FAILED, at=at, error=f"Gave up after {run.attempt} attempts.")
        else:
            _send(str(run.public_id))
            woken += 1
    return woken


@dataclass
class Worker:
    """What a job sees of its run: the row, a way to tell how far it is, and the one fenced way to finish."""

    run: Run
    attempt: int
    clock: Callable[[], datetime]
    tell: Tell | None = None
    _told_at: datetime | None = field(default=None, init=False)
    _shown_at: datetime | None = field(default=None, init=False)

    def progress(self, done: int, total: int, note: str = "") -> None:
        """Tell how far the work is, at most once a second; raises when the run was canceled or taken over."""
        at = self.clock()
        if self._told_at and (at - self._told_at).total_seconds() < 1 and done < total:
            return
        self._told_at = at
        if not _held(self.run, self.attempt).update(
            progress_done=done, progress_total=total, progress_note=note[:200], lease_until=_lease(at)
        ):
            raise Fenced
        if _held(self.run, self.attempt).filter(cancel_asked=True).exists():
            raise CancelAsked
        if self.tell:
            self.tell(done, total, note)

    def keep_going(self, done: int, total: int) -> bool:
        """The same as a yes or no, for computations that take a callback."""
        try:
            self.progress(done, total)
        except CancelAsked:
            return False
        return True

    def show(self, **values: Any) -> bool:
        """Write what the work has come to so far, at most once a second; whether it was written now."""
        at = self.clock()
        if self._shown_at and (at - self._shown_at).total_seconds() < 1:
            return False
        self._shown_at = at
        if not _held(self.run, self.attempt).update(**values):
            raise Fenced
        return True

    @contextmanager
    def finishing(self) -> Iterator[None]:
        """Write the result and end the run in one transaction; if another attempt took over, nothing is written."""
        with writing():
            yield
            if not run_end(self.run, self.attempt, state=DONE, at=self.clock()):
                raise Fenced


def run_perform(run: Run, attempt: int, *, clock: Callable[[], datetime], tell: Tell | None = None) -> str:
    """Do the work of one attempt in this process; returns the state it ended in. `tell` hears of the progress too."""
    _, job = _JOBS[run.kind]
    worker = Worker(run=run, attempt=attempt, clock=clock, tell=tell)
    try:
        job(worker)
    except CancelAsked:
        run_end(run, attempt, state=CANCELED, at=clock())
        return CANCELED
    except Fenced:
        return "fenced"
    except Exception as error:
        run_end(run, attempt, state=FAILED, at=clock(), error=f"{type(error).__name__}: {error}")
        raise
    return DONE
