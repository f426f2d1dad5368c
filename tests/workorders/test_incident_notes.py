"""The desk's notes on an incident."""

import pytest

from orders.common.errors import Invalid, WrongState
from orders.common.models import Change
from orders.workorders.incident_notes import incident_note_add
from tests import build

pytestmark = pytest.mark.django_db


def test_it_adds_a_note_and_records_it(stamp):
    incident = build.IncidentFactory()
    made = incident_note_add(incident=incident, note=" Talked over. ", is_closing=False, stamp=stamp)
    assert (made.note, made.by, Change.objects.get().verb) == ("Talked over.", stamp.by, "incident_note_add")


def test_it_closes_once_and_still_takes_notes(stamp):
    incident = build.IncidentFactory()
    incident_note_add(incident=incident, note="Done.", is_closing=True, stamp=stamp)
    with pytest.raises(WrongState):
        incident_note_add(incident=incident, note="Done again.", is_closing=True, stamp=stamp)
    incident_note_add(incident=incident, note="A letter came.", is_closing=False, stamp=stamp)
    assert incident.notes.count() == 2


def test_it_wants_words(stamp):
    with pytest.raises(Invalid):
        incident_note_add(incident=build.IncidentFactory(), note="  ", is_closing=False, stamp=stamp)
