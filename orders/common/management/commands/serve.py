"""The whole program in one command: the web server, a worker and the beat that wakes it."""

import os
import signal
import socket
import subprocess
import sys
import time
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connections

from orders.common.first_code import first_code
from orders.common.selectors import has_users

BRIEF_SECONDS = 10.0  # our own choice: what ends so soon would end again


def port_refuse(host: str, port: int) -> None:
    """Say at once that a port is taken, before anything long begins."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as tried:
        tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            tried.bind((host, port))
        except OSError as error:
            raise CommandError(
                f"Port {port} of {host} cannot be used ({error.strerror}). Choose another with --port."
            ) from error


def _commands(host: str, port: int) -> dict[str, list[str]]:
    web = [
        "-m",
        "gunicorn",
        "deploy.wsgi:application",
        "--workers",
        "2",
        "--bind",
        f"{host}:{port}",
        "--timeout",
        "60",
        "--no-control-socket",
    ]
    # As root Celery warns at each start; whoever serves a demo as root knows that.
    celery = ["-W", "ignore::UserWarning:celery.platforms", "-m", "celery", "-A", "deploy.celery", "--quiet"]
    worker = [*celery, "worker", "--pool", "threads", "--concurrency", "2", "--loglevel", "WARNING"]
    return {
        "web": [*web, "--access-logfile", os.devnull, "--log-level", "warning"],
        "worker": [*worker, "--without-mingle", "--without-gossip", "--without-heartbeat"],
        # Of its own: a beat inside the worker is a child process that outlives a killed worker.
        "beat": [*celery, "beat", "--loglevel", "WARNING"],
    }


@dataclass
class Part:
    """One of the processes. A worker or a beat that ends after a while is started again: the queue of files can hand a
    worker a file that is not written yet, and what it was to do is found again by the sweep."""

    name: str
    words: list[str]

    def start(self) -> None:
        self.since = time.monotonic()
        self.process = subprocess.Popen([sys.executable, *self.words], cwd=settings.BASE_DIR, stdin=subprocess.DEVNULL)

    def has_ended(self) -> bool:
        return self.process.poll() is not None

    def may_start_again(self) -> bool:
        return self.name != "web" and time.monotonic() - self.since > BRIEF_SECONDS


class Command(BaseCommand):
    help = "Serve the pages and the API, with a worker beside them."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, host: str, port: int, **options: Any) -> None:
        port_refuse(host, port)
        call_command("collectstatic", interactive=False, verbosity=0)
        self._tell_first_code(host, port)
        parts = [Part(name, words) for name, words in _commands(host, port).items()]
        for part in parts:
            part.start()
        for number in (signal.SIGTERM, signal.SIGINT):  # named, since a shell may have had a background job ignore it
            signal.signal(number, lambda *_: sys.exit(0))
        try:
            self._watch(parts)
        finally:
            self.stdout.write("Stopping.")
            for part in parts:
                part.process.terminate()
            for part in parts:
                part.process.wait(timeout=30)

    def _tell_first_code(self, host: str, port: int) -> None:
        """Only who sees this terminal can make the first login. The connection is not handed to the processes."""
        is_new = not has_users()
        connections.close_all()
        if is_new:
            named = "that FIRST_RUN_CODE names" if settings.FIRST_RUN_CODE else first_code()
            self.stdout.write(f"Nobody has a login yet. Open http://{host}:{port}/setup/first/ with the code {named}\n")
            self.stdout.flush()

    def _watch(self, parts: list[Part]) -> None:
        while True:
            time.sleep(0.5)
            for part in parts:
                if part.has_ended():
                    self._begin_again(part)

    def _begin_again(self, part: Part) -> None:
        ended = f"The {part.name} process ended with code {part.process.returncode};"
        if not part.may_start_again():
            self.stderr.write(f"{ended} stopping the rest.")
            sys.exit(1)
        self.stderr.write(f"{ended} starting it again.")
        part.start()
