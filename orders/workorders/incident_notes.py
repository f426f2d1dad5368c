"""What the desk adds to an incident afterwards, and that nothing more is to be done about it."""

from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.workorders.models import Incident, IncidentNote


@writing()
def incident_note_add(*, incident: Incident, note: str, is_closing: bool, stamp: Stamp) -> IncidentNote:
    """A closed incident still takes notes, since more may come to light; it is closed once."""
    if not note.strip():
        raise Invalid("Say what there is to note.", [FieldError("note", "is required", code="required")])
    if is_closing and incident.notes.filter(is_closing=True).exists():
        raise WrongState("This incident is closed already.")
    assert stamp.by is not None  # a note has an author
    made = IncidentNote.objects.create(
        incident=incident, note=note.strip(), is_closing=is_closing, by=stamp.by, at=stamp.at
    )
    audience = [incident.crew.public_id] if incident.crew else []
    after = {"note": made.note, "is_closing": is_closing}
    change_record(stamp=stamp, verb="incident_note_add", entity=incident, after=after, audience=audience)
    return made
