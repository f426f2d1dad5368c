"""Asking for all patches to be estimated in the background."""

from datetime import date
from uuid import UUID

from orders.common.changes import change_record
from orders.common.models.run import QUEUED, RUNNING
from orders.common.runs import run_wake
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.estimates.models import EstimateRun
from orders.estimates.selectors import rate_book_in_force


@writing()
def estimates_ask(*, on: date, crew_kind: str = "staff", stamp: Stamp, public_id: UUID | None = None) -> EstimateRun:
    """The row is the job; a worker is woken after the commit. One that is asked for or at work already is not asked for
    twice. Refused where no rate book is in force, which the job could not say so soon."""
    rate_book_in_force(crew_kind, on)
    standing = EstimateRun.objects.filter(crew_kind=crew_kind, state__in=[QUEUED, RUNNING], cancel_asked=False)
    if found := standing.order_by("-id").first():
        return found
    named = {} if public_id is None else {"public_id": public_id}
    run = EstimateRun.objects.create(crew_kind=crew_kind, on_day=on, asked_by=stamp.by, asked_at=stamp.at, **named)
    change_record(stamp=stamp, verb="estimates_ask", entity=run, after={"crew_kind": crew_kind, "on": str(on)})
    run_wake(run)
    return run
