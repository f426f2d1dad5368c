"""Incidents: the list, one of them, the desk's notes; and the policy for work outside."""

import html

import pytest

from orders.field.models import FieldPolicy
from orders.workorders.models import IncidentNote
from tests import build
from tests.api.scene import lead_of

pytestmark = pytest.mark.django_db
POLICY = {"least_age": "18", "overdue_after_minutes": "45", "gap_minutes": "15", "split_rule": "equal"}


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def shown(client, address):
    return html.unescape(client.get(address).content.decode())


@pytest.mark.parametrize(
    ("query", "found"), [("", True), ("?state=closed", False), ("?kind=spill", False), ("?q=stem", True)]
)
def test_it_narrows_the_list(desk, query, found):
    build.IncidentFactory()
    assert ("A cut stem swung" in shown(desk, f"/incidents/{query}")) is found


def test_it_takes_a_note_and_closes(desk):
    address = f"/incidents/{build.IncidentFactory().public_id}/"
    assert desk.post(address, {"note": ""}).status_code == 400
    assert desk.post(address, {"note": "Talked over.", "is_closing": "on"}).url == address
    assert "Closed with this." in shown(desk, address)
    assert desk.post(address, {"note": "Again.", "is_closing": "on"}).status_code == 409


def test_it_is_read_by_own_crews_and_noted_by_the_desk(client):
    incident = build.IncidentFactory(crew=build.CrewFactory())
    address = f"/incidents/{incident.public_id}/"
    client.force_login(lead_of(incident.crew, "own"))
    assert (client.get(address).status_code, client.post(address, {"note": "x"}).status_code) == (200, 403)
    assert not IncidentNote.objects.exists()
    client.force_login(lead_of(build.CrewFactory(), "other"))
    assert client.get(address).status_code == 404


def test_it_changes_the_policy(desk):
    assert desk.post("/field/policy/", {**POLICY, "version": "1"}).status_code == 302
    assert FieldPolicy.objects.get().overdue_after_minutes == 45
    assert desk.post("/field/policy/", {**POLICY, "version": "1"}).status_code == 412


@pytest.mark.parametrize("wrong", [{"least_age": "17"}, {"split_rule": "by luck"}, {"gap_minutes": "-1"}])
def test_it_refuses_a_policy_that_cannot_be(desk, wrong):
    assert desk.post("/field/policy/", {**POLICY, "version": "1", **wrong}).status_code == 400


def test_it_lets_crews_read_the_policy(client, crew_lead):
    client.force_login(crew_lead)
    assert "45 min" not in shown(client, "/field/policy/")
    assert "One person alone may run a saw" in shown(client, "/field/policy/")
    assert client.post("/field/policy/", {**POLICY, "version": "1"}).status_code == 403
