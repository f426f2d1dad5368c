"""Is it up, and can it serve?"""

import pytest
from django.db import OperationalError, connection
from django.test import Client

from tests import build

pytestmark = pytest.mark.django_db


def test_it_is_up_without_a_database(django_db_blocker):
    with django_db_blocker.block():
        reply = Client().get("/healthz")
    assert (reply.status_code, reply.json()) == (200, {"status": "ok"})


def test_it_is_ready():
    reply = Client().get("/readyz")
    assert (reply.status_code, reply.json()["status"], reply.json()["problems"]) == (200, "ready", [])


def test_it_tells_how_long_the_oldest_run_waits(clock):
    build.PlanRunFactory(asked_at="2026-12-01T14:58:00Z")
    assert 119 <= Client().get("/readyz").json()["oldest_waiting_run_seconds"] <= 200


def test_it_is_not_ready_while_migrations_are_missing(monkeypatch):
    monkeypatch.setattr("orders.api.health.MigrationExecutor.migration_plan", lambda *_: ["one"])
    reply = Client().get("/readyz")
    assert (reply.status_code, reply.json()["problems"]) == (503, ["migrations are missing; run manage.py migrate"])


def test_it_is_not_ready_where_a_record_could_be_changed():
    on = ' ON "costs_ledgerentry"' if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f'DROP TRIGGER "append_only_costs_ledgerentry_update"{on}')
    reply = Client().get("/readyz")
    assert (reply.status_code, "costs_ledgerentry" in reply.json()["problems"][0]) == (503, True)


def test_it_is_not_ready_without_its_database(monkeypatch):
    def broken(*_):
        raise OperationalError("no connection to secret-host")

    monkeypatch.setattr("orders.api.health.MigrationExecutor", broken)
    reply = Client().get("/readyz")
    assert (reply.status_code, b"secret-host" in reply.content) == (503, False)
