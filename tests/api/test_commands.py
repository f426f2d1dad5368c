"""What tablets sent, at the desk; and files of what they could not send."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from orders.field.models import Command
from tests import build

pytestmark = pytest.mark.django_db


def test_it_lists_and_filters(desk):
    kept = build.CommandFactory(state="held", kind="incident", answer={"state": "held"})
    build.CommandFactory(state="applied")
    asked = f"/api/commands?state=held&kind=incident&device={kept.device.public_id}&user={kept.user.public_id}"
    (row,) = desk.rows(asked)
    assert (row["id"], row["answer"]) == (str(kept.public_id), {"state": "held"})
    assert "raw" not in row


def test_it_shows_what_was_sent(desk):
    kept = build.CommandFactory(raw='{"a":1}')
    assert desk.get(f"/api/commands/{kept.public_id}").json()["raw"] == '{"a":1}'


def _import(desk, content):
    file = SimpleUploadedFile("unsent.json", content, content_type="application/json")
    return desk.post("/api/unsent-imports", {"file": file}, format="multipart")


def test_it_brings_in_a_file(desk):
    device = build.DeviceFactory()
    told = {"fencerow": "unsent work", "version": 1, "device": str(device.public_id)}
    told |= {"exported_at": "2026-12-01T15:00:00Z", "commands": [{"id": "odd"}]}
    for known in (0, 1):
        reply = _import(desk, json.dumps(told).encode())
        assert reply.status_code == 201
        assert (reply.json()["states"], reply.json()["known"]) == ({"unreadable": 1}, known)
    assert Command.objects.get().from_file


def test_it_refuses_what_is_no_such_file(desk, settings):
    assert _import(desk, b"{}").status_code == 400
    settings.TABLET_EXPORT_MAX_BYTES = -(1024 * 1024) + 100
    assert _import(desk, b"{}").status_code == 413
