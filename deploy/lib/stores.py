"""The database behind the settings, as backup and restore see it: SQLite's file or a PostgreSQL database."""

import os
import shutil
import sqlite3
import subprocess
import tempfile
from abc import ABC, abstractmethod
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

import psycopg
from django.db.backends.sqlite3._functions import register as register_functions  # type: ignore[import-untyped]

COUNT_TABLES_SQLITE = "SELECT count(*) FROM sqlite_master WHERE type = 'table'"
COUNT_TABLES_POSTGRESQL = "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'"
COUNT_OTHERS_POSTGRESQL = """
    SELECT count(*) FROM pg_stat_activity
    WHERE datname = current_database() AND pid <> pg_backend_pid() AND backend_type = 'client backend'
"""


class StoreError(Exception):
    """Something that the person at the keyboard can act on; the text says what."""


class Store(ABC):
    """One database that can be written to a file, and read back from it as a whole or not at all."""

    engine: str
    file_name: str

    @abstractmethod
    def dump(self, file: Path) -> None:
        """Write the database as it stands at one moment, while others go on using it."""

    @abstractmethod
    def is_empty(self) -> bool: ...

    @abstractmethod
    def others_connected(self) -> bool: ...

    @abstractmethod
    def load(self, file: Path, *, set_aside_as: str) -> str:
        """Put the file's content in place of what is there; returns where that is kept, or nothing if it was empty."""


class SqliteStore(Store):
    """SQLite's own online copy: a reader, so nobody waits for it."""

    engine = "sqlite"
    file_name = "database.sqlite3"

    def __init__(self, path: Path) -> None:
        self.path = path

    def dump(self, file: Path) -> None:
        if not self.path.exists():
            raise StoreError(f"There is no database at {self.path}.")
        with closing(sqlite3.connect(self.path)) as source, closing(sqlite3.connect(file)) as copy:
            source.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")
        _check_sqlite(file)

    def is_empty(self) -> bool:
        if not self.path.exists():
            return True
        try:
            with closing(sqlite3.connect(self.path)) as connection:
                return int(connection.execute(COUNT_TABLES_SQLITE).fetchone()[0]) == 0
        except sqlite3.DatabaseError:
            return False  # damaged is not empty

    def others_connected(self) -> bool:
        """Leaving the write-ahead log needs the file for oneself; it also brings the log's content into the file."""
        if not self.path.exists():
            return False
        try:
            with closing(sqlite3.connect(self.path, timeout=2)) as connection:
                connection.execute("PRAGMA journal_mode = DELETE")
        except sqlite3.OperationalError:
            return True
        except sqlite3.DatabaseError:
            return False  # too damaged to be in use
        return False

    def load(self, file: Path, *, set_aside_as: str) -> str:
        _check_sqlite(file)
        self.path.parent.mkdir(parents=True, exist_ok=True)
        incoming = self.path.with_name(f"{self.path.name}.incoming")
        shutil.copyfile(file, incoming)
        kept = ""
        if self.path.exists():
            aside = self.path.with_name(f"{self.path.name}.{set_aside_as}")
            for ending in ("", "-wal", "-shm"):
                _move(Path(f"{self.path}{ending}"), Path(f"{aside}{ending}"))
            kept = str(aside)
        incoming.replace(self.path)
        return kept


class PostgresqlStore(Store):
    """pg_dump and psql, told where to go through the environment, so that no password shows in a process list."""

    engine = "postgresql"
    file_name = "database.dump"

    def __init__(self, settings: Mapping[str, Any]) -> None:
        words = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD", "PGDATABASE": "NAME"}
        given = {variable: str(settings[key]) for variable, key in words.items() if settings.get(key)}
        self._env = {**os.environ, **given}
        self._place = {
            "host": settings.get("HOST") or None,
            "port": settings.get("PORT") or None,
            "user": settings.get("USER") or None,
            "password": settings.get("PASSWORD") or None,
            "dbname": settings["NAME"],
        }

    def dump(self, file: Path) -> None:
        words = ["--format=custom", "--schema=public", "--no-owner", "--no-privileges", "--file", str(file)]
        self._tool("pg_dump", *words)

    def is_empty(self) -> bool:
        return self._count(COUNT_TABLES_POSTGRESQL) == 0

    def others_connected(self) -> bool:
        return self._count(COUNT_OTHERS_POSTGRESQL) > 0

    def load(self, file: Path, *, set_aside_as: str) -> str:
        """The former schema is renamed and the new one filled in one transaction."""
        schema = "" if self.is_empty() else set_aside_as.replace("-", "_")
        first = "DROP SCHEMA public" if not schema else f'ALTER SCHEMA public RENAME TO "{schema}"'
        keep_out = ["--no-owner", "--no-privileges"]
        all_or_nothing = ["--single-transaction", "--set", "ON_ERROR_STOP=1", "--output", os.devnull]
        with tempfile.TemporaryDirectory() as folder:
            script = str(Path(folder) / "restore.sql")
            self._tool("pg_restore", "--schema=public", *keep_out, "--file", script, str(file))
            words = ["--quiet", "--no-psqlrc", *all_or_nothing]
            self._tool("psql", *words, "--command", f"{first}; CREATE SCHEMA public", "--file", script)
        return f'the schema "{schema}" of the same database' if schema else ""

    def _count(self, query: str) -> int:
        try:
            with psycopg.connect(**self._place, connect_timeout=10) as connection:
                row = connection.execute(query).fetchone()
        except psycopg.OperationalError as error:
            raise StoreError(f"PostgreSQL does not answer: {error}") from None
        return int(row[0]) if row else 0

    def _tool(self, name: str, *words: str) -> None:
        path = shutil.which(name)
        if path is None:
            raise StoreError(f"{name} is not installed. On Debian: apt-get install postgresql-client")
        command = [path, *words]
        done = subprocess.run(
            command, env=self._env, stdin=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, check=False
        )
        if done.returncode != 0:
            raise StoreError(f"{name} failed; nothing was changed. It said:\n{done.stderr.strip()}")


def store_of(settings: Mapping[str, Any]) -> Store:
    """The store behind one entry of Django's DATABASES."""
    if settings["ENGINE"].endswith("sqlite3"):
        return SqliteStore(Path(settings["NAME"]))
    return PostgresqlStore(settings)


def _check_sqlite(file: Path) -> None:
    """Some of the tables' rules are written with functions that Django gives each of its connections."""
    with closing(sqlite3.connect(file)) as connection:
        register_functions(connection)
        said = connection.execute("PRAGMA integrity_check").fetchone()[0]
    if said != "ok":
        raise StoreError(f"The database in {file} is damaged: {said}")


def _move(path: Path, target: Path) -> None:
    if path.exists():
        path.replace(target)
