"""What a person is told about a run: its state, how far it is and what went wrong, in words."""

import re
from dataclasses import dataclass

from estimating.errors import EstimatingError
from orders.common.errors import Refusal
from orders.common.models import Run
from orders.common.models.run import CANCELED, DONE, FAILED, QUEUED, RUNNING
from orders.desk.plan_words import best_so_far

WORDS = {
    QUEUED: "Waiting for its turn",
    RUNNING: "At work",
    DONE: "Done",
    FAILED: "Failed",
    CANCELED: "Canceled",
}
LAST_PART = "What is counted is through; the last part of the work, which has no count, may take some minutes more."


@dataclass(frozen=True)
class RunState:
    """`percent` is None where nobody can say yet; empty texts are not shown."""

    state: str
    words: str
    percent: int | None
    progress: str
    best: str
    note: str
    attempt: str
    trouble: str
    over: bool
    may_cancel: bool


def run_state(run: Run) -> RunState:
    stopping = run.cancel_asked and not run.is_over
    return RunState(
        state=run.state,
        words="Stopping" if stopping else WORDS[run.state],
        percent=_percent(run),
        progress="" if run.is_over or not run.progress_total else _progress(run),
        best="" if run.is_over else best_so_far(run),
        note="" if run.is_over else run.progress_note or _last_part(run),
        attempt=f"Attempt {run.attempt}" if run.attempt > 1 else "",
        trouble=_trouble(run),
        over=run.is_over,
        may_cancel=not run.is_over and not run.cancel_asked,
    )


def _percent(run: Run) -> int | None:
    if run.state == DONE:
        return 100
    if not run.progress_total:
        return None
    return min(100, 100 * run.progress_done // run.progress_total)


def _progress(run: Run) -> str:
    return f"{_percent(run)}%: {run.progress_done:,} of {run.progress_total:,}"


def _last_part(run: Run) -> str:
    """What is counted can be through before the work is: the exact part of a search, and writing its result down."""
    return LAST_PART if run.progress_total and run.progress_done >= run.progress_total else ""


def _trouble(run: Run) -> str:
    if run.state == QUEUED and run.error:
        return "An earlier attempt broke off. The work starts again by itself; nothing is lost."
    if run.state != FAILED:
        return ""
    return f"{_reason(run.error)} Nothing was changed."


def _reason(error: str) -> str:
    """Our own refusals are written for people; anything else is a fault of the program, and says so."""
    kind, _, text = error.partition(": ")
    if kind in _names(Refusal) | _names(EstimatingError) and text:
        return text if text.endswith((".", "!", "?")) else f"{text}."
    if given_up := re.match(r"Gave up after (\d+) attempts", error):
        return f"The work broke off {given_up[1]} times and was given up. Tell whoever looks after this program."
    return "The program met something unforeseen. Tell whoever looks after it, with the exact words below."


def _names(kind: type[Exception]) -> set[str]:
    return {kind.__name__}.union(*(_names(below) for below in kind.__subclasses__()))
