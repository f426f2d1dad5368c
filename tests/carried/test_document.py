"""GET /tablet/sync/documents/<hash>: a label or a safety data sheet, whole."""

import hashlib

import pytest

from tests import build
from tests.carried.caller import TOKEN, device_of

pytestmark = pytest.mark.django_db
CONTENT = b"%PDF-1.4\ninvented\n%%EOF\n"


def fetched(client, sha256, token=TOKEN):
    return client.get(f"/tablet/sync/documents/{sha256}", headers={"Authorization": f"Tablet {token}"})


def test_it_gives_the_file_as_it_is(client):
    device_of(build.UserFactory(roles=["crew_lead"]))
    document = build.ProductDocumentFactory(content=CONTENT, file_name="señal.pdf")
    reply = fetched(client, document.sha256)
    assert (reply.status_code, reply.headers["Content-Type"]) == (200, "application/pdf")
    assert hashlib.sha256(reply.content).hexdigest() == document.sha256
    assert reply.headers["X-Content-Type-Options"] == "nosniff"
    assert "immutable" in reply.headers["Cache-Control"]


def test_it_knows_no_other(client):
    device_of(build.UserFactory(roles=["crew_lead"]))
    reply = fetched(client, "0" * 64)
    assert (reply.status_code, reply.json()["code"]) == (404, "not_found")


def test_it_needs_the_tablets_token(client):
    document = build.ProductDocumentFactory()
    assert fetched(client, document.sha256, token="other").status_code == 401


def test_it_is_not_open_to_a_page(client):
    client.force_login(build.UserFactory(roles=["administrator"]))
    assert client.get(f"/tablet/sync/documents/{build.ProductDocumentFactory().sha256}").status_code == 401
