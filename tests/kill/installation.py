"""An installation of its own for tests that kill processes: its data folder, its database, its worker."""

import os
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any, LiteralString
from urllib.parse import urlsplit, urlunsplit

import psycopg
from psycopg import sql

from tests.migrated import postgresql_template, sqlite_copy

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_SECONDS = 120
REDIS_DATABASE = 7  # apart from what other tests use


class Installation:
    """Runs the program's own commands; on PostgreSQL and Redis where the environment names them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.environment = {**os.environ, "DATA_DIR": str(folder), "RUN_LEASE_SECONDS": "3"}
        self.database = f"fencerow_kill_{os.getpid()}"
        self.server = os.environ.get("DATABASE_URL")
        if self.server:
            self.environment["DATABASE_URL"] = urlunsplit(urlsplit(self.server)._replace(path=f"/{self.database}"))
            self._on_server("CREATE DATABASE {} TEMPLATE {}", postgresql_template(self.server))
        elif sqlite_copy().exists():
            shutil.copy(sqlite_copy(), folder / "fencerow.sqlite3")
        if redis := os.environ.get("REDIS_URL"):
            self.environment["REDIS_URL"] = urlunsplit(urlsplit(redis)._replace(path=f"/{REDIS_DATABASE}"))
        self.processes: list[subprocess.Popen[bytes]] = []

    def _on_server(self, statement: LiteralString, *names: str) -> None:
        assert self.server
        with psycopg.connect(self.server, autocommit=True) as server:
            server.execute(sql.SQL(statement).format(*map(sql.Identifier, (self.database, *names))))

    def manage(self, *words: str) -> str:
        command = [sys.executable, "manage.py", *words]
        done = subprocess.run(command, cwd=ROOT, env=self.environment, capture_output=True, text=True, check=False)
        assert done.returncode == 0, f"manage.py {' '.join(words)}\n{done.stdout}\n{done.stderr}"
        return done.stdout

    def python(self, code: str) -> None:
        """A piece of Python inside the program."""
        self.manage("shell", "--no-imports", "-c", code)

    def row(self, query: LiteralString) -> tuple[Any, ...]:
        """One row, straight from the database: starting the program for each look would be too slow to catch it."""
        if self.server:
            with psycopg.connect(self.environment["DATABASE_URL"]) as database:
                found = database.execute(query).fetchone()
        else:
            with closing(sqlite3.connect(self.folder / "fencerow.sqlite3", timeout=20)) as database:
                found = database.execute(query).fetchone()
        assert found is not None
        return tuple(found)

    def start_worker(self) -> subprocess.Popen[bytes]:
        return self._start("worker", "--pool", "threads", "--concurrency", "2", "--without-mingle", "--without-gossip")

    def start_beat(self) -> subprocess.Popen[bytes]:
        return self._start("beat")

    def start_web(self, port: int) -> subprocess.Popen[bytes]:
        """Two web workers, in a process group of their own: they can be killed with their master at one blow."""
        words = ["deploy.wsgi:application", "--workers", "2", "--bind", f"127.0.0.1:{port}", "--no-control-socket"]
        process = self._popen(["-m", "gunicorn", *words, "--log-level", "warning", "--timeout", "60"], own_group=True)
        self.wait_for(lambda: _answers(port), "the web server")
        return process

    def _start(self, *words: str) -> subprocess.Popen[bytes]:
        return self._popen(["-m", "celery", "-A", "deploy.celery", *words, "--loglevel", "WARNING"])

    def _popen(self, words: list[str], *, own_group: bool = False) -> subprocess.Popen[bytes]:
        with (self.folder / "worker.log").open("ab") as log:
            process = subprocess.Popen(
                [sys.executable, *words],
                cwd=ROOT,
                env=self.environment,
                stdout=log,
                stderr=log,
                start_new_session=own_group,
            )
        self.processes.append(process)
        return process

    def wait_for(self, look: Callable[[], bool], what: str) -> None:
        """Poll until it is so; a bound on patience, not a measure of speed."""
        end = time.monotonic() + PATIENCE_SECONDS
        while not look():
            assert time.monotonic() < end, f"{what} did not come; {(self.folder / 'worker.log').read_text()[-3000:]}"
            time.sleep(0.1)

    def kill(self, process: subprocess.Popen[bytes]) -> None:
        """At once, with its children where it leads a group of its own."""
        if process.poll() is None:
            leads = os.getpgid(process.pid) == process.pid
            (os.killpg if leads else os.kill)(process.pid, signal.SIGKILL)
        process.wait()

    def remove(self) -> None:
        for process in self.processes:
            self.kill(process)
        if self.server:
            self._on_server("DROP DATABASE {} WITH (FORCE)")


def _answers(port: int) -> bool:
    with socket.socket() as tried:
        return tried.connect_ex(("127.0.0.1", port)) == 0
