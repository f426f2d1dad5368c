"""An incident and the desk's notes on it."""

import pytest

from tests import build
from tests.api.caller import Caller
from tests.api.scene import lead_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def incident():
    return build.IncidentFactory(crew=build.CrewFactory())


def address(incident):
    return f"/api/incidents/{incident.public_id}"


def test_it_takes_notes_and_is_closed_by_one(desk, incident):
    desk.send(f"{address(incident)}/notes", {"note": "Talked over."})
    reply = desk.send(f"{address(incident)}/notes", {"note": "Done.", "is_closing": True})
    assert (reply.status_code, reply.json()["is_closed"]) == (201, True)
    assert [note["note"] for note in desk.get(address(incident)).json()["notes"]] == ["Talked over.", "Done."]


def test_it_is_closed_once(desk, incident):
    build.IncidentNoteFactory(incident=incident, is_closing=True)
    assert desk.send(f"{address(incident)}/notes", {"note": "Again.", "is_closing": True}).status_code == 409


def test_it_is_there_for_own_crews_alone(incident):
    callers = (Caller(lead_of(incident.crew, "own")), Caller(lead_of(build.CrewFactory(), "other")))
    assert [caller.get(address(incident)).status_code for caller in callers] == [200, 404]
    assert callers[0].send(f"{address(incident)}/notes", {"note": "x"}).status_code == 403
