"""What most tests start from: a moment, a person, and the stamp of both."""

import os
from datetime import UTC, datetime
from importlib import import_module
from types import SimpleNamespace
from unittest.mock import MagicMock

import pytest
from django.apps import apps
from django.conf import settings as django_settings
from django.db import connection
from django.test import TransactionTestCase
from hypothesis import settings

from orders.common.appendonly import append_only_tables, triggers_install
from orders.common.stamp import Stamp
from tests import build
from tests.migrated import sqlite_clear, start_from_copies

# Properties are about results, never about time: a busy machine must not fail them.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
start_from_copies()


# Workers of one run share the folder of data: a cache of their own, or one clears what another has just written.
if (worker := os.environ.get("PYTEST_XDIST_WORKER")) and "LOCATION" in (held := django_settings.CACHES["default"]):
    held["LOCATION"] = f"{held['LOCATION']}-{worker}" if "://" not in str(held["LOCATION"]) else held["LOCATION"]


@pytest.fixture(autouse=True)
def _static_files_as_they_are(settings):
    """Without collectstatic there is no manifest of hashed names: pages name the files themselves."""
    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    settings.STORAGES = {**settings.STORAGES, "staticfiles": plain}


FILLS = (
    "orders.common.migrations.0002_fill_roles",
    "orders.sites.migrations.0002_fill_growth_forms",
    "orders.workorders.migrations.0004_fill_record_profiles",
    "orders.field.migrations.0002_fill_policy",
    "orders.costs.migrations.0003_fill_accounts_and_pay_rules",
)
_clear_tables = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]  # Django's own, untyped


def _steps_fill():
    """The steps of 0004 of reminders; the table of its rules is gone since."""

    def get_model(app, name):
        return MagicMock() if name == "RecordRule" else apps.get_model(app, name)

    import_module("orders.reminders.migrations.0004_fill_kinds_and_rules").fill(
        SimpleNamespace(get_model=get_model), None
    )


def _clear_committed(case):
    """After a test that commits: records cannot be deleted and Django empties every table, what migrations filled
    included. SQLite is put back whole, which is fast. On PostgreSQL: take the triggers off, clear, fill again; Django's
    own post_migrate puts the triggers back."""
    if connection.vendor == "sqlite":
        sqlite_clear(connection)
        return
    for table in append_only_tables():
        with connection.cursor() as cursor:
            for event in ("update", "delete"):
                cursor.execute(f'DROP TRIGGER IF EXISTS "append_only_{table}_{event}" ON "{table}"')
    _clear_tables(case)
    triggers_install()
    for fill in FILLS:
        import_module(fill).fill(apps, None)
    _steps_fill()


TransactionTestCase._fixture_teardown = _clear_committed  # type: ignore[attr-defined]


@pytest.fixture
def moment():
    return datetime(2027, 3, 1, 15, 0, tzinfo=UTC)


@pytest.fixture
def user(db):
    return build.UserFactory()


@pytest.fixture
def stamp(user, moment):
    return Stamp(by=user, at=moment)
