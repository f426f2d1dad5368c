"""A site's emergency plan: what its page tells, and changing it."""

import html

import pytest
from django.urls import reverse

from orders.common.models import Change
from tests import build

pytestmark = pytest.mark.django_db
PLAN = {
    "emergency_access": "North gate; keys with the neighbor.",
    "meeting_lat": "38.3481",
    "meeting_lon": "-86.0213",
    "nearest_medical_help": "Invented clinic, 14 minutes",
    "medical_phone": "555-0114",
    "medical_address": "41 Clinic Road",
    "radio_or_phone": "Channel 2",
    "access_notes": "",
}


@pytest.fixture
def site():
    return build.SiteFactory()


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def shown(client, name, site):
    reply = client.get(reverse(name, args=[site.public_id]))
    assert reply.status_code == 200
    return html.unescape(reply.content.decode())


def sent(client, site, **values):
    return client.post(reverse("site-emergency", args=[site.public_id]), {**PLAN, "version": site.version, **values})


def test_it_says_what_is_not_noted_yet(desk, site):
    page = shown(desk, "site", site)
    assert "Not noted yet:" in page
    assert "the meeting point" in page


def test_it_changes_the_plan(desk, site):
    assert sent(desk, site).status_code == 302
    site.refresh_from_db()
    assert (site.medical_phone, site.meeting_lat) == ("555-0114", 38.3481)
    assert Change.objects.filter(verb="site_edit", entity_id=site.public_id).exists()
    page = shown(desk, "site", site)
    assert "38.34810, -86.02130" in page
    assert "Not noted yet:" not in page


@pytest.mark.parametrize("values", [{"meeting_lat": ""}, {"meeting_lon": "500"}, {"meeting_lat": "north"}])
def test_it_says_what_is_wrong(desk, site, values):
    reply = sent(desk, site, **values)
    assert reply.status_code == 400
    site.refresh_from_db()
    assert site.medical_phone == ""


def test_it_refuses_what_somebody_else_changed_meanwhile(desk, site):
    assert sent(desk, site, version=site.version - 1).status_code == 412


def test_it_is_the_desks_to_change(client, site):
    client.force_login(build.UserFactory(roles=["crew_lead"]))
    assert "Change the emergency plan" not in shown(client, "site", site)
    assert client.get(reverse("site-emergency", args=[site.public_id])).status_code == 403
