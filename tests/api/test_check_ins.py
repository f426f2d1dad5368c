"""Saying that a crew is safe, and taking its alert in hand."""

from datetime import timedelta

import pytest

from orders.field.models import CheckInStep
from tests import build
from tests.api.caller import Caller, error_fields
from tests.api.scene import lead_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def late():
    check_in = build.CheckInFactory(people=[build.PersonFactory(name="R. Teasel")])
    build.OverdueAlertFactory(check_in=check_in)
    return check_in


def act(caller, check_in, verb, body=None):
    return caller.send(f"/api/check-ins/{check_in.public_id}/{verb}", body)


def test_it_ends_when_they_are_found(desk, late):
    assert desk.rows("/api/check-ins")[0]["ended_at"] is None
    reply = act(desk, late, "found", {"note": "They answered the phone."})
    assert (reply.status_code, reply.json()["ended_at"]) == (200, reply.json()["steps"][0]["at"])
    assert CheckInStep.objects.get().by == desk.user


def test_it_wants_to_know_how(desk, late):
    reply = act(desk, late, "found", {})
    assert (reply.status_code, error_fields(reply)) == (400, ["note"])


def test_it_is_taken_in_hand_once(desk, late):
    assert act(desk, late, "take").json()["taken_by"]["name"] == desk.user.username
    assert act(desk, late, "take").status_code == 409


def test_it_takes_nothing_where_no_alert_stands(desk, late):
    build.CheckInStepFactory(check_in=late, kind="longer", back_by=late.back_by + timedelta(hours=1))
    assert act(desk, late, "take").status_code == 404


def test_it_shows_the_hour_that_was_named_last(desk, late):
    later = late.back_by + timedelta(hours=1)
    build.CheckInStepFactory(check_in=late, kind="longer", back_by=later)
    assert desk.rows("/api/check-ins")[0]["until"] == later.isoformat().replace("+00:00", "Z")


def test_it_is_not_for_crews_to_say(late):
    own = Caller(lead_of(late.crew, "own"))
    assert [act(own, late, verb, {"note": "x"}).status_code for verb in ("found", "take")] == [403, 403]
