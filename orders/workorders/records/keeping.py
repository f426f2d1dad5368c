"""Holds on records. Nothing deletes a record: the database refuses it. A hold tells that one outlives its term."""

from uuid import UUID

from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid, NotFound, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.workorders.models import ApplicationRecord, RecordHold


@writing()
def record_hold_place(*, record: ApplicationRecord, why: str, stamp: Stamp) -> RecordHold:
    """Keep a record beyond its term: an audit, a claim, a question."""
    if not why.strip():
        raise Invalid("Say why it is held.", [FieldError("why", "is required", code="required")])
    assert stamp.by is not None  # the interfaces let nobody else through
    hold = RecordHold.objects.create(record=record, why=why.strip()[:300], placed_by=stamp.by, placed_at=stamp.at)
    change_record(stamp=stamp, verb="record_hold_place", entity=record, after={"why": hold.why})
    return hold


@writing()
def record_hold_lift(*, hold: RecordHold, stamp: Stamp) -> RecordHold:
    """The reason is over; the stamp says why. Its own term still holds."""
    lifted = RecordHold.objects.filter(pk=hold.pk, lifted_at__isnull=True)
    if lifted.update(lifted_by=stamp.by, lifted_at=stamp.at) != 1:
        raise WrongState("This hold was lifted already.")
    hold.refresh_from_db()
    change_record(stamp=stamp, verb="record_hold_lift", entity=hold.record, before={"why": hold.why})
    return hold


def hold_get(record: ApplicationRecord, hold_id: UUID) -> RecordHold:
    found = record.holds.filter(public_id=hold_id).first()
    if found is None:
        raise NotFound("There is no such hold on this record.")
    return found
