"""PATCH /api/sites/<id>: the emergency plan."""

import pytest

from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return build.SiteFactory()


def _edit(caller, site, body):
    path = f"/api/sites/{site.public_id}"
    return caller.edit(path, body, etag=caller.get(path).headers["ETag"])


def test_it_changes_the_emergency_plan(desk, site):
    reply = _edit(desk, site, {"medical_phone": "555-0100", "meeting_lon": -85.7, "meeting_lat": 38.2})
    assert (reply.status_code, reply.json()["medical_phone"]) == (200, "555-0100")
    assert (reply.json()["meeting_lon"], reply.json()["version"]) == (-85.7, 2)


def test_it_refuses_half_a_point(desk, site):
    reply = _edit(desk, site, {"meeting_lon": -85.7})
    assert (reply.status_code, error_fields(reply)) == (400, ["meeting_lat"])


def test_it_is_not_for_a_lead(lead, site):
    assert _edit(lead, site, {"medical_phone": "1"}).status_code == 403
