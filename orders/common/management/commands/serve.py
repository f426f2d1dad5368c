"""The whole program in one command: the web server, a worker and the beat that wakes it."""

import os
import signal
import socket
import subprocess
import sys
import time
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser


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


class Command(BaseCommand):
    help = "Serve the pages and the API, with a worker beside them."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, host: str, port: int, **options: Any) -> None:
        port_refuse(host, port)
        call_command("collectstatic", interactive=False, verbosity=0)
        parts = {
            name: subprocess.Popen([sys.executable, *command], cwd=settings.BASE_DIR, stdin=subprocess.DEVNULL)
            for name, command in _commands(host, port).items()
        }
        for number in (signal.SIGTERM, signal.SIGINT):  # named, since a shell may have had a background job ignore it
            signal.signal(number, lambda *_: sys.exit(0))
        try:
            self._watch(parts)
        finally:
            self.stdout.write("Stopping.")
            for part in parts.values():
                part.terminate()
            for part in parts.values():
                part.wait(timeout=30)

    def _watch(self, parts: dict[str, subprocess.Popen[bytes]]) -> None:
        while True:
            time.sleep(0.5)
            for name, part in parts.items():
                if part.poll() is not None:
                    self.stderr.write(f"The {name} process ended with code {part.returncode}; stopping the rest.")
                    sys.exit(1)
