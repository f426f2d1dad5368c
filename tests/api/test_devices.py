"""Tablets at the desk: codes, names, people, shutting one out."""

import pytest
from rest_framework.test import APIClient

from orders.field.models import Device
from tests import build
from tests.api.caller import Caller

pytestmark = pytest.mark.django_db
ENROLL = "/tablet/sync/enroll"


@pytest.fixture
def lead_user():
    return build.UserFactory(username="lead", first_name="Ada", last_name="Lead", roles=["crew_lead"])


@pytest.fixture
def code(desk, lead_user):
    reply = desk.post("/api/enrollment-codes", {"user": str(lead_user.public_id)}, format="json")
    assert reply.status_code == 201, reply.json()
    return reply.json()


def _enroll(code, client=None, **more):
    body = {"code": code, "device_name": "Blue tablet", "app_version": "1", **more}
    return (client or APIClient()).post(ENROLL, body, format="json")


def _client(token):
    return APIClient(headers={"Authorization": f"Tablet {token}"})


def test_it_makes_a_code_and_the_address_that_a_picture_of_it_says(code, lead_user):
    assert code["address"] == f"http://testserver/tablet/#/enroll/{code['code']}"
    assert code["user"]["name"] == "lead"


def test_it_enrolls_a_tablet(desk, code, lead_user):
    reply = _enroll(code["code"])
    told = reply.json()
    assert reply.status_code == 201
    assert told["user"] == {"id": str(lead_user.public_id), "name": "Ada Lead", "language": ""}
    (shown,) = desk.rows("/api/devices")
    assert (told["device"]["id"], shown["name"]) == (shown["id"], "Blue tablet")
    assert [user["user"]["name"] for user in shown["users"]] == ["lead"]
    body = {"sent_at": "2026-12-01T15:00:00Z", "commands": []}
    assert _client(told["token"]).post("/tablet/sync/commands", body, format="json").status_code == 200


def test_it_tells_what_is_wrong_with_a_code(code, clock):
    assert (_enroll("nonsense").status_code, _enroll("nonsense").json()["code"]) == (400, "code_unknown")
    _enroll(code["code"])
    assert (_enroll(code["code"]).status_code, _enroll(code["code"]).json()["code"]) == (409, "code_used")


def test_it_tells_that_a_code_is_too_old(code, clock):
    clock.shift(24 * 3600)
    assert (_enroll(code["code"]).status_code, _enroll(code["code"]).json()["code"]) == (410, "code_expired")


def test_it_lets_nobody_guess_codes_for_long(code):
    assert [_enroll("guess").status_code for _ in range(21)][-1] == 429


def test_it_adds_a_person_to_a_tablet_that_is_known(desk, code):
    token = _enroll(code["code"]).json()["token"]
    mate = build.UserFactory(username="mate", roles=["crew_lead"])
    second = desk.post("/api/enrollment-codes", {"user": str(mate.public_id)}, format="json").json()
    told = _enroll(second["code"], _client(token)).json()
    assert (told["token"], told["user"]["name"]) == (None, "mate")
    assert len(desk.rows("/api/devices")[0]["users"]) == 2


def test_it_takes_a_token_that_opens_nothing_for_none(code):
    reply = _enroll(code["code"], _client("of another place"))
    assert (reply.status_code, bool(reply.json()["token"])) == (201, True)


def test_it_shuts_a_tablet_out(desk, code):
    token = _enroll(code["code"]).json()["token"]
    (shown,) = desk.rows("/api/devices?revoked=false")
    reply = desk.send(f"/api/devices/{shown['id']}/revoke", {"reason": "Lost in a bog."})
    assert (reply.status_code, reply.json()["revoke_reason"]) == (200, "Lost in a bog.")
    told = _client(token).post("/tablet/sync/commands", {}, format="json")
    assert (told.status_code, told.json()["code"]) == (403, "device_revoked")
    assert desk.rows("/api/devices?revoked=false") == []


def test_it_takes_a_person_off(desk, code, lead_user):
    _enroll(code["code"])
    (shown,) = desk.rows("/api/devices")
    address = f"/api/devices/{shown['id']}/users/{lead_user.public_id}/remove"
    assert desk.send(address).json()["users"] == []
    assert desk.send(address).status_code == 404


def test_it_renames_a_tablet(desk):
    device = build.DeviceFactory()
    reply = desk.get(f"/api/devices/{device.public_id}")
    edited = desk.edit(f"/api/devices/{device.public_id}", {"name": "Red"}, etag=reply.headers["ETag"])
    assert (edited.status_code, Device.objects.get().name) == (200, "Red")


def test_it_makes_codes_for_known_people_only(desk):
    reply = desk.post("/api/enrollment-codes", {"user": str(build.SiteFactory().public_id)}, format="json")
    assert reply.status_code == 404


def test_it_is_the_desk_s_alone(code):
    for role in ("crew_lead", "finance", "pesticide_supervisor"):
        assert Caller(build.UserFactory(roles=[role])).get("/api/devices").status_code == 403
