"""A migrated database, made once for each state of the migrations: each run of tests starts from a copy of it.

The migrations are still run on the copy, so what is missing in it is applied and Django's own steps after them are
taken.
"""

import fcntl
import hashlib
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from functools import cache, partial
from pathlib import Path
from typing import Any
from unittest import mock
from urllib.parse import urlsplit

import django
import psycopg
from django.core import management
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.base.creation import BaseDatabaseCreation

ROOT = Path(__file__).resolve().parents[1]
FOLDER = ROOT / ".fencerow" / "migrated"
READ_BY_MIGRATIONS = ("orders/*/migrations/*.py", "orders/estimates/explained.py", "orders/common/appendonly.py")
_create = BaseDatabaseCreation.create_test_db
_command = management.call_command
_as_migrated = sqlite3.connect(":memory:", check_same_thread=False)  # what a test that commits is cleared back to


@cache
def _state() -> str:
    """Names what the migrations make: their files, what they read, and Django."""
    digest = hashlib.sha256(django.__version__.encode())
    for path in sorted(found for pattern in READ_BY_MIGRATIONS for found in ROOT.glob(pattern)):
        digest.update(f"{path.relative_to(ROOT)}\n".encode() + path.read_bytes())
    return digest.hexdigest()[:16]


def sqlite_copy() -> Path:
    return FOLDER / f"{_state()}.sqlite3"


def postgresql_copy(database: str) -> str:
    """Named as tests' databases are, so that whoever drops those drops it too."""
    return f"test_{database.removeprefix('test_').partition('_gw')[0]}_migrated_{_state()}"


@contextmanager
def _one_at_a_time() -> Iterator[None]:
    FOLDER.mkdir(parents=True, exist_ok=True)
    with (FOLDER / "lock").open("w") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        yield


def _migrate_sqlite(connection: BaseDatabaseWrapper, migrate: Callable[[], object]) -> None:
    copy = sqlite_copy()
    connection.ensure_connection()
    if copy.exists():
        with closing(sqlite3.connect(copy)) as kept:
            kept.backup(connection.connection)
        migrate()
        return
    migrate()
    for old in FOLDER.glob("*.sqlite3"):
        old.unlink()
    whole = copy.with_suffix(".partial")
    whole.unlink(missing_ok=True)
    with closing(sqlite3.connect(whole)) as kept:
        connection.connection.backup(kept)
    whole.replace(copy)


def _migrate_postgresql(connection: BaseDatabaseWrapper, migrate: Callable[[], object]) -> None:
    name = str(connection.settings_dict["NAME"])
    copy = postgresql_copy(name)
    connection.close()
    with connection.creation._nodb_cursor() as server:  # type: ignore[attr-defined]  # Django's own, untyped
        server.execute("SELECT 1 FROM pg_database WHERE datname = %s", [copy])
        if server.fetchone():
            server.execute(f'DROP DATABASE "{name}"')
            server.execute(f'CREATE DATABASE "{name}" TEMPLATE "{copy}"')
            migrate()
            return
        migrate()
        connection.close()
        server.execute(f'CREATE DATABASE "{copy}" TEMPLATE "{name}"')


def _create_from_copy(self: BaseDatabaseCreation, *words: Any, **named: Any) -> str:
    connection = self.connection
    migrated = {"sqlite": _migrate_sqlite, "postgresql": _migrate_postgresql}[connection.vendor]

    def command(name: str, *words: Any, **named: Any) -> Any:
        if name != "migrate":
            return _command(name, *words, **named)
        with _one_at_a_time():
            migrated(connection, partial(_command, name, *words, **named))
        return None

    with mock.patch.object(management, "call_command", command):
        name = _create(self, *words, **named)
    if connection.vendor == "sqlite":
        connection.connection.backup(_as_migrated)
    return str(name)


def start_from_copies() -> None:
    BaseDatabaseCreation.create_test_db = _create_from_copy  # type: ignore[method-assign]


def sqlite_clear(connection: BaseDatabaseWrapper) -> None:
    """Put the database of the tests back to how it was made."""
    connection.ensure_connection()
    _as_migrated.backup(connection.connection)


def postgresql_template(server: str) -> str:
    """What a new database is made from on the server with this address: the copy, where there is one."""
    copy = postgresql_copy(urlsplit(server).path.lstrip("/"))
    with psycopg.connect(server) as asked:
        there = asked.execute("SELECT 1 FROM pg_database WHERE datname = %s", [copy]).fetchone()
    return copy if there else "template1"
