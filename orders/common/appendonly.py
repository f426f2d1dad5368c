"""Append-only tables, held by database triggers on SQLite and PostgreSQL.

SQLite's table rebuild drops triggers, so they are installed again after each migration; a system check names the
tables where one is missing.
"""

from collections.abc import Iterable
from typing import Any

from django.apps import apps
from django.core.checks import CheckMessage, Error
from django.db import connections


def append_only_tables() -> list[str]:
    return sorted(model._meta.db_table for model in apps.get_models() if getattr(model, "append_only", False))


def _name(table: str, event: str) -> str:
    return f"append_only_{table}_{event}"


def _install_sqlite(cursor: Any, table: str) -> None:
    for event in ("update", "delete"):
        cursor.execute(
            f'CREATE TRIGGER IF NOT EXISTS "{_name(table, event)}" BEFORE {event.upper()} ON "{table}" '
            f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
        )


def _install_postgresql(cursor: Any, table: str) -> None:
    cursor.execute(
        "CREATE OR REPLACE FUNCTION append_only_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION '% is append-only', TG_TABLE_NAME USING ERRCODE = 'integrity_constraint_violation'; "
        "END $$"
    )
    for event in ("update", "delete"):
        cursor.execute(f'DROP TRIGGER IF EXISTS "{_name(table, event)}" ON "{table}"')
        cursor.execute(
            f'CREATE TRIGGER "{_name(table, event)}" BEFORE {event.upper()} ON "{table}" '
            "FOR EACH ROW EXECUTE FUNCTION append_only_refuse()"
        )


def triggers_install(using: str = "default") -> None:
    connection = connections[using]
    install = {"sqlite": _install_sqlite, "postgresql": _install_postgresql}[connection.vendor]
    present = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for table in append_only_tables():
            if table in present:
                install(cursor, table)


def triggers_install_after_migrate(*, using: str, **_: Any) -> None:
    triggers_install(using)


def triggers_missing(using: str = "default") -> list[str]:
    connection = connections[using]
    source = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger",
    }[connection.vendor]
    present = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        cursor.execute(source)
        held = {row[0] for row in cursor.fetchall()}
    wanted = {
        _name(table, event): table
        for table in append_only_tables()
        if table in present
        for event in ("update", "delete")
    }
    return sorted({table for name, table in wanted.items() if name[:63] not in held and name not in held})


def triggers_check(app_configs: Any, databases: Iterable[str] | None = None, **_: Any) -> list[CheckMessage]:
    return [
        Error(
            f"Table {table} has lost its append-only triggers.",
            hint="Run manage.py migrate: it installs them again.",
            id="fencerow.E001",
        )
        for using in databases or []
        for table in triggers_missing(using)
    ]
