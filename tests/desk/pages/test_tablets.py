"""Tablets: codes shown once, people taken off, tablets revoked, files of unsent work."""

import html
import json
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from orders.field.models import Device, DeviceUser, EnrollmentCode
from orders.field.services.devices import secret_hash
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.fixture
def device():
    return build.DeviceFactory(name="Orange case", users=[build.UserFactory(username="rue", roles=["crew_lead"])])


def shown(client, address="/tablets/"):
    return html.unescape(client.get(address).content.decode())


def test_it_shows_a_code_once_as_letters_and_as_a_picture(desk, crew_lead):
    page = desk.post("/tablets/codes/", {"user": str(crew_lead.public_id)}).content.decode()
    (shown_as,) = re.findall(r'code-letters">([A-Z0-9 ]+)<', page)
    letters = shown_as.replace(" ", "")
    assert EnrollmentCode.objects.get().code_sha256 == secret_hash(letters)
    assert f"/tablet/#/enroll/{letters}" in page
    assert 'class="picture-code"' in page
    assert letters not in shown(desk)


def test_it_makes_no_code_for_somebody_who_is_not_there(desk):
    assert desk.post("/tablets/codes/", {"user": "6f8c6b57-7c7e-4f0a-9d67-31f1d1b6a001"}).status_code == 400


def test_it_revokes_with_a_reason(desk, device):
    address = f"/tablets/{device.public_id}/revoke/"
    assert desk.post(address, {"reason": ""}).status_code == 400
    assert desk.post(address, {"reason": "Lost in the river"}).status_code == 302
    assert "Lost in the river" in shown(desk, f"/tablets/{device.public_id}/")
    assert "revoked" in shown(desk)


def test_it_takes_a_person_off(desk, device):
    user = DeviceUser.objects.get().user
    assert desk.post(f"/tablets/{device.public_id}/people/{user.public_id}/remove/").status_code == 302
    assert DeviceUser.objects.get().removed_at
    assert "Nobody is on it" in shown(desk, f"/tablets/{device.public_id}/")


def test_it_says_what_each_last_told(desk, device):
    Device.objects.update(waiting_told=7, skew_seconds=-720, app_version="2027.1")
    page = shown(desk)
    assert [word for word in (">7</td>", "12 min behind", "version 2027.1") if word not in page] == []


def test_it_says_what_was_sent_and_by_whom_in_words(desk, device):
    rue = build.UserFactory(first_name="Rue", last_name="Alder", roles=["crew_lead"])
    build.CommandFactory(device=device, kind="day-sheet", user=rue)
    page = shown(desk, f"/tablets/{device.public_id}/")
    assert "Day sheet" in page
    assert "Rue Alder" in page
    assert "day-sheet<" not in page
    assert rue.username not in page
    assert f"Rue Alder ({rue.username})" in shown(desk)


def export(device, commands=()):
    told = {
        "fencerow": "unsent work",
        "version": 1,
        "device": str(device.public_id),
        "device_name": device.name,
        "exported_at": "2027-02-10T20:00:00Z",
        "app_version": "1",
        "commands": list(commands),
        "photos": [],
    }
    return SimpleUploadedFile("unsent.json", json.dumps(told).encode())


def test_it_reads_a_file_of_a_tablet_that_is_revoked(desk, device):
    Device.objects.update(revoked_at=build.NOW)
    assert desk.post("/tablets/file/", {"file": export(device)}).url == "/tablets/"
    assert "Orange case: 0 messages, 0 known before." in shown(desk)


@pytest.mark.parametrize("data", [b"", b"{", b'{"fencerow": "something else"}'])
def test_it_says_what_is_wrong_with_a_file(desk, data):
    reply = desk.post("/tablets/file/", {"file": SimpleUploadedFile("unsent.json", data)})
    assert reply.status_code == 400
    assert "notice trouble" in reply.content.decode()


def test_it_takes_no_file_above_the_limit(desk, device, settings):
    settings.TABLET_EXPORT_MAX_BYTES = 10
    assert desk.post("/tablets/file/", {"file": export(device)}).status_code == 400


@pytest.mark.parametrize("address", ["/tablets/codes/", "/tablets/file/"])
def test_it_is_the_desks_alone(client, crew_lead, address):
    client.force_login(crew_lead)
    assert client.post(address).status_code == 403
