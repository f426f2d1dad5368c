"""Records cannot be changed or deleted, on either database, and a lost trigger is noticed."""

import pytest
from django.core.checks import run_checks
from django.db import DatabaseError, connection, transaction

from orders.common.appendonly import append_only_tables, triggers_install, triggers_missing
from orders.common.changes import change_record
from orders.common.models import Change

pytestmark = pytest.mark.django_db


@pytest.fixture
def change(user, stamp):
    return change_record(stamp=stamp, verb="test", entity=user)


def test_it_refuses_to_change_a_record(change):
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        Change.objects.filter(pk=change.pk).update(verb="other")
    change.refresh_from_db()
    assert change.verb == "test"


def test_it_refuses_to_delete_a_record(change):
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        Change.objects.filter(pk=change.pk)._raw_delete("default")
    assert Change.objects.filter(pk=change.pk).exists()


def test_it_guards_every_record_table():
    assert {"common_change", "costs_ledgerentry", "workorders_closeout", "supplies_stockmovement"} <= set(
        append_only_tables()
    )
    assert triggers_missing() == []


def _drop_one():
    table = "common_change"
    on = f' ON "{table}"' if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f'DROP TRIGGER "append_only_{table}_update"{on}')


def test_it_tells_of_a_lost_trigger_and_installs_it_again():
    _drop_one()
    assert [error.id for error in run_checks(databases=["default"])] == ["fencerow.E001"]
    triggers_install()
    assert triggers_missing() == []
