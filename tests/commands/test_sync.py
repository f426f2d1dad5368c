"""The endpoints that a tablet calls: batches of commands, and who is let in."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.core.cache import cache
from django.db import OperationalError
from rest_framework.test import APIClient

from orders.field.models import Command, Device, Flag
from tests import build

pytestmark = pytest.mark.django_db
NOW = datetime(2027, 2, 1, 22, tzinfo=UTC)
COMMANDS = "/tablet/sync/commands"


@pytest.fixture(autouse=True)
def _clock_and_cache(settings):
    settings.CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": "sync"}}
    cache.clear()
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def client(sender):
    return _client(sender.device, "secret")


def _client(device, token):
    device.token_sha256 = build.DeviceFactory.build(token=token).token_sha256
    device.save()
    return APIClient(headers={"Authorization": f"Tablet {token}"})


def _batch(*commands, **more):
    return {"sent_at": NOW.isoformat(), "app_version": "1.2", "waiting": 3, "commands": list(commands), **more}


def _send(client, *commands, **more):
    return client.post(COMMANDS, _batch(*commands, **more), format="json")


def test_it_answers_each_command(sender, client, words):
    sent = [sender.envelope("word", {"word": word}) for word in ("one", "no", "two")]
    reply = _send(client, *sent)
    assert reply.status_code == 200
    told = reply.json()
    assert [answer["state"] for answer in told["answers"]] == ["applied", "held", "applied"]
    assert (told["later"], told["skew_seconds"], told["device"]) == ([], 0, {"revoked": False})
    assert words() == ["one", "two"]
    assert _send(client, *sent).json() == told


def test_it_keeps_what_the_tablet_says_of_itself(sender, client):
    _send(client)
    device = Device.objects.get()
    assert (device.last_contact_at, device.app_version, device.waiting_told) == (NOW, "1.2", 3)


def test_it_notes_a_clock_that_is_wrong_once_a_day(sender, client):
    for minutes in (6, 7, 4):
        reply = _send(client, sent_at=(NOW - timedelta(minutes=minutes)).isoformat())
        assert reply.json()["skew_seconds"] == -60 * minutes
    assert [flag.title for flag in Flag.objects.all()] == [f"The clock of {sender.device} is 6 minutes behind."]
    _send(client, sender.envelope("word", {"word": "one"}))
    assert Command.objects.get().skew_seconds == 0


def test_it_takes_fifty_commands_at_once_and_no_more(sender, client):
    sent = [sender.envelope("word", {"word": f"word-{number}"}) for number in range(51)]
    reply = _send(client, *sent)
    assert (reply.status_code, reply.json()["code"]) == (413, "payload_too_large")
    assert Command.objects.count() == 0
    assert _send(client, *sent[:50]).status_code == 200


def test_it_takes_a_megabyte_at_once_and_no_more(sender, client):
    reply = _send(client, sender.envelope("word", {"word": "w" * 1024 * 1024}))
    assert (reply.status_code, reply.json()["code"]) == (413, "payload_too_large")
    assert _send(client, sender.envelope("word", {"word": "w" * 1000 * 1000})).status_code == 200


def test_it_stops_where_time_runs_out(sender, client, settings, words):
    settings.TABLET_BATCH_SECONDS = -1.0
    sent = sender.envelope("word", {"word": "one"})
    assert _send(client, sent).json()["answers"] == []
    settings.TABLET_BATCH_SECONDS = 20.0
    assert _send(client, sent).json()["answers"][0]["state"] == "applied"


def test_it_asks_a_tablet_that_calls_too_often_to_wait(client, settings):
    rates = {**settings.REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"], "tablet": "2/min"}
    settings.REST_FRAMEWORK = {**settings.REST_FRAMEWORK, "DEFAULT_THROTTLE_RATES": rates}
    assert [_send(client).status_code for _ in range(3)] == [200, 200, 429]
    reply = _send(client)
    assert (reply.json()["code"], int(reply.headers["Retry-After"]) > 0) == ("throttled", True)
    other = _client(build.DeviceFactory(users=[build.UserFactory()]), "other")
    assert _send(other).status_code == 200


def test_it_asks_to_come_again_where_the_database_is_busy(client, monkeypatch):
    def busy(**_):
        raise OperationalError("database is locked")

    monkeypatch.setattr("orders.tablet.sync.batch_take", busy)
    reply = _send(client)
    assert (reply.status_code, reply.json()["code"], reply.headers["Retry-After"]) == (503, "busy", "5")


def test_it_knows_no_tablet_by_a_wrong_token(sender):
    reply = _send(APIClient(headers={"Authorization": "Tablet wrong"}))
    assert (reply.status_code, reply.json()["code"]) == (401, "device_unknown")
    assert reply.headers["WWW-Authenticate"] == "Tablet"


def test_it_shuts_out_a_tablet_that_is_revoked(sender, client):
    Device.objects.update(revoked_at=NOW, revoke_reason="Lost")
    reply = _send(client)
    assert (reply.status_code, reply.json()["code"]) == (403, "device_revoked")


def test_it_shuts_out_a_tablet_that_nobody_is_on(sender, client):
    sender.device.device_users.update(removed_at=NOW)
    assert _send(client).json()["code"] == "device_revoked"


def test_it_asks_for_a_new_code_once_the_last_day_is_over(sender, client):
    Device.objects.update(expires_on=NOW.date())
    assert _send(client).status_code == 200
    Device.objects.update(expires_on=NOW.date() - timedelta(days=1))
    reply = _send(client)
    assert (reply.status_code, reply.json()["code"]) == (403, "device_expired")


def test_it_opens_to_no_user_and_opens_nothing_else_to_a_tablet(sender, client):
    user = APIClient()
    user.force_authenticate(build.UserFactory(roles=["administrator"]))
    assert _send(user).status_code == 403
    assert client.get("/api/work-orders").status_code == 401


@pytest.mark.parametrize("body", [{}, {"sent_at": "now", "commands": []}, {"sent_at": NOW.isoformat(), "commands": 3}])
def test_it_refuses_a_batch_without_its_frame(client, body):
    reply = client.post(COMMANDS, body, format="json")
    assert (reply.status_code, reply.json()["code"]) == (400, "invalid")


def test_it_takes_old_apps(sender, client):
    sent = sender.envelope("word", {"word": "one"}, app_version="0.0.1-old", happened_at="2026-08-01T10:00:00-04:00")
    assert _send(client, {**sent, "id": str(uuid4())}, app_version="").json()["answers"][0]["state"] == "applied"
