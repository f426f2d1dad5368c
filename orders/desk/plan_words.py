"""What plans are called, and how long one may search."""

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.conf import settings
from django.utils.formats import date_format
from django.utils.text import capfirst

from orders.common.models import Run
from orders.planning.models import PlanRun


@dataclass(frozen=True)
class Search:
    """How hard a plan is looked for: rounds of improvement, and work of the exact solver in its own seconds."""

    code: str
    words: str
    help: str
    iterations: int
    exact_work: float


# Budgets of work, not of time: the same season and seed give the same plan on any machine. The words hold for a season
# of 2,000 visits on two cores, where 2,000 rounds took 1.5 s and exact work of 5 another 4.5 s.
SEARCHES = (
    Search("quick", "Quick", "a first look, in less than a minute", 5_000, 10.0),
    Search("usual", "Usual", "a plan to accept, in some minutes", 60_000, 120.0),
    Search("thorough", "Thorough", "when every dollar counts, an hour and more", 4_000_000, 600.0),
)
BY_CODE = {search.code: search for search in SEARCHES}


def run_name(run: PlanRun) -> str:
    """A run's own title, or what it is and when it was asked for."""
    if run.title:
        return capfirst(run.title)
    asked = date_format(run.asked_at.astimezone(ZoneInfo(settings.PROGRAM_TIME_ZONE)), "M j, P")
    return f"{run.get_purpose_display()}, {asked}"


def plan_state(run: PlanRun) -> tuple[str, str]:
    """The class of a plan's mark and its state in a word or two."""
    if run.state == "done":
        return _of_finished(run)
    words = {"queued": "waiting", "running": "at work", "failed": "failed", "canceled": "canceled"}
    kinds = {"queued": "state-wait", "running": "state-wait", "failed": "state-bad", "canceled": "state-off"}
    return kinds[run.state], words[run.state]


def _of_finished(run: PlanRun) -> tuple[str, str]:
    if run.accepted_at:
        return "state-good", "accepted"
    if run.dropped_at:
        return "state-off", "dropped"
    if run.faults:
        return "state-bad", "faulty"
    return ("state-off", "only looked at") if run.purpose == "what_if" else ("state-wait", "to be decided")


def level_of(run: PlanRun) -> Search | None:
    """The level that a run was asked for with; None where its numbers were its own."""
    return next((one for one in SEARCHES if (one.iterations, one.exact_work) == (run.iterations, run.exact_work)), None)


def gap_share(run: PlanRun) -> float | None:
    """How far the plan may be from the best there is: what it loses above the bound, as a share of what it loses."""
    if run.bound_cents is None or not run.lost_cents:
        return None
    return max(0.0, (run.lost_cents - run.bound_cents) / run.lost_cents)


def best_so_far(run: Run) -> str:
    """For a plan at work: what the best one found loses, beside the first."""
    if not isinstance(run, PlanRun) or run.lost_cents is None:
        return ""
    start = "" if run.start_lost_cents is None else f", from ${run.start_lost_cents / 100:,.0f} at the start"
    return f"The best plan so far loses ${run.lost_cents / 100:,.0f} of value and cost{start}."
