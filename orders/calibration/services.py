"""Writes of calibration: asking for a run, and the draft rate book that comes of one."""

from uuid import UUID

from orders.calibration.convert import calibration_read, proposed
from orders.calibration.models import CalibrationRun
from orders.calibration.selectors import calibration_changed_by
from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.runs import run_wake
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.estimates.models import RateBook
from orders.estimates.services import rate_book_draft
from orders.planning.models import Season


class NotEnoughEvidence(WrongState):
    """The closed orders do not say enough of any method."""

    code = "not_enough_evidence"
    title = "Not enough evidence"


@writing()
def calibration_ask(
    *, season: Season, crew_kind: str = "staff", stamp: Stamp, public_id: UUID | None = None
) -> CalibrationRun:
    """Ask for a look at the season's closed orders: the row is the job; a worker is woken after the commit."""
    if crew_kind not in dict(RateBook.CREW_KINDS):
        raise Invalid("There are no such crews.", [FieldError("crew_kind", "must be staff or volunteers")])
    named = {} if public_id is None else {"public_id": public_id}
    run = CalibrationRun.objects.create(
        season=season, crew_kind=crew_kind, asked_by=stamp.by, asked_at=stamp.at, **named
    )
    told = {"season": season.name, "crew_kind": crew_kind}
    change_record(stamp=stamp, verb="calibration_ask", entity=run, after=told)
    run_wake(run)
    return run


@writing()
def calibration_draft_book(*, run: CalibrationRun, stamp: Stamp) -> RateBook:
    """The next edition as a draft, with the rates that have enough evidence moved; a coordinator's to make, to look at
    and to put in force."""
    if stamp.by is not None:
        calibration_changed_by(stamp.by)
    if run.state != "done" or run.result is None:
        raise WrongState("This calibration is not finished; there is nothing to draft from yet.")
    found = calibration_read(run.result)
    if not found.enough:
        raise NotEnoughEvidence(found.because)
    held = CalibrationRun.objects.select_for_update().get(pk=run.pk)
    if held.draft is not None:
        raise WrongState(f"{held.draft} was drafted from this calibration already.")
    made = proposed(run)
    if not made.changes:
        raise WrongState("None of the rates that the evidence is about stands in the rate book in force.")
    book = rate_book_draft(
        name=made.base.name,
        rows=made.rows,
        standard_crew=made.base.standard_crew,
        skill_roles=made.base.skill_roles,
        crew_kind=run.crew_kind,
        notes=f"Calibrated on {len(run.evidence)} closed orders of {run.season.name}: {len(made.changes)} rates moved.",
        stamp=stamp,
    )
    CalibrationRun.objects.filter(pk=run.pk).update(draft=book)
    run.draft = book
    told = {"draft": str(book), "rates": len(made.changes)}
    change_record(stamp=stamp, verb="calibration_draft_book", entity=run, after=told)
    return book
