"""Who is outside and until when, as they say themselves; and that the desk found them safe."""

from collections.abc import Sequence

from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Person
from orders.field.models import CheckIn, CheckInPerson, CheckInStep
from orders.workorders.facts import fact_known, fact_save


@writing()
def check_in_add(*, check_in: CheckIn, people: Sequence[Person], stamp: Stamp) -> CheckIn:
    """They are at a site and say by when they mean to be back."""
    if known := fact_known(check_in):
        return known
    fact_save(check_in, stamp=stamp)
    CheckInPerson.objects.bulk_create(CheckInPerson(check_in=check_in, person=person) for person in people)
    return check_in


@writing()
def check_in_step_add(*, step: CheckInStep, stamp: Stamp) -> CheckInStep:
    """They stay longer, or they are out. The hour named last counts, and the first word of being out."""
    return fact_known(step) or fact_save(step, stamp=stamp)


@writing()
def check_in_found(*, check_in: CheckIn, note: str, stamp: Stamp) -> CheckInStep:
    """The desk has found them safe; it says how."""
    if not note.strip():
        raise Invalid("Say how you found them.", [FieldError("note", "is required", code="required")])
    step = CheckInStep(check_in=check_in, kind="found", note=note.strip()[:200], at=stamp.at)
    fact_save(step, stamp=stamp)
    after = {"kind": step.kind, "note": step.note}
    change_record(stamp=stamp, verb="check_in_found", entity=check_in, after=after, audience=[check_in.crew.public_id])
    return step
