"""The bytes of a picture over the wire."""

import hashlib

import pytest
from django.urls import reverse

from orders.field.models import Flag
from tests import build
from tests.workorders.test_photos import picture

pytestmark = pytest.mark.django_db
PARTS = "application/offset+octet-stream"


@pytest.fixture(autouse=True)
def _folder(settings, tmp_path):
    settings.PHOTO_DIR = tmp_path / "photos"


@pytest.fixture
def tablet(client):
    build.DeviceFactory(token="a-token", users=[build.UserFactory(roles=["crew_lead"])])
    client.defaults["HTTP_AUTHORIZATION"] = "Tablet a-token"
    return client


@pytest.fixture
def data():
    return picture()


@pytest.fixture
def address(data):
    photo = build.PhotoFactory(sha256=hashlib.sha256(data).hexdigest(), size_bytes=len(data))
    return reverse("tablet-photo", args=[photo.public_id])


def _part(tablet, address, offset, data):
    return tablet.patch(address, data, content_type=PARTS, headers={"Upload-Offset": str(offset)})


def test_it_takes_a_picture_in_two_parts(tablet, address, data):
    assert tablet.head(address).headers["Upload-Offset"] == "0"
    first = _part(tablet, address, 0, data[:500])
    assert (first.status_code, first.headers["Upload-Offset"]) == (204, "500")
    assert tablet.head(address).headers["Upload-Offset"] == "500"
    assert _part(tablet, address, 500, data[500:]).headers["Upload-Offset"] == str(len(data))


def test_it_says_where_to_go_on(tablet, address, data):
    _part(tablet, address, 0, data[:500])
    wrong = _part(tablet, address, 0, data[:500])
    assert (wrong.status_code, wrong.headers["Upload-Offset"], wrong.json()["code"]) == (409, "500", "wrong_offset")


def test_it_begins_anew_after_a_wrong_checksum(tablet, address, data):
    wrong = _part(tablet, address, 0, bytes(len(data)))
    assert (wrong.status_code, wrong.headers["Upload-Offset"], wrong.json()["code"]) == (409, "0", "checksum")
    assert _part(tablet, address, 0, data).status_code == 204


def test_it_keeps_what_is_no_picture_and_says_so(tablet):
    text = b"no picture"
    photo = build.PhotoFactory(sha256=hashlib.sha256(text).hexdigest(), size_bytes=len(text))
    reply = _part(tablet, reverse("tablet-photo", args=[photo.public_id]), 0, text)
    assert (reply.status_code, reply.headers["Upload-Offset"]) == (204, "10")
    assert Flag.objects.get().kind == "photo_broken"


def test_it_knows_no_picture_before_its_command(tablet):
    nowhere = reverse("tablet-photo", args=["6a0e5a4e-6a3c-4b8e-9f0e-0f7a1f5f8a11"])
    assert tablet.head(nowhere).status_code == 404
    assert _part(tablet, nowhere, 0, b"x").json()["code"] == "not_found"


def test_it_wants_to_know_where_a_part_begins(tablet, address, data):
    assert tablet.patch(address, data, content_type=PARTS).status_code == 400


def test_it_takes_no_part_that_is_too_large(tablet, address, settings):
    settings.PHOTO_PART_MAX_BYTES = 10
    assert _part(tablet, address, 0, bytes(11)).status_code == 413


def test_it_opens_to_tablets_alone(client, address, data):
    assert _part(client, address, 0, data).status_code == 401
    client.force_login(build.UserFactory(roles=["administrator"]))
    assert _part(client, address, 0, data).status_code == 401
