"""A network as a hollow has it: a proxy before the server that loses requests and replies, doubles, delays and delivers
late, by turns and for what the tablet sends alone; and a server that can be killed and started again."""

import http.client
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from itertools import cycle
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

from django.db import connection

ROOT = Path(__file__).resolve().parents[2]
OWN_TO_A_HOP = {"connection", "keep-alive", "transfer-encoding", "date", "server"}
PATIENCE_SECONDS = 60
LATE_SECONDS = 0.3
# In turns, so that each comes again and again: a batch goes through at its sixth try at the latest.
FAULTS = ("lose the request", "lose the reply", "double", "deliver later, too", "delay", "")


@dataclass(frozen=True)
class Asked:
    method: str
    path: str
    headers: dict[str, str]
    body: bytes


class Proxy:
    def __init__(self, address: str) -> None:
        self.port_behind = urlsplit(address).port
        self.is_faulty = False
        self.is_down = False
        self.done: list[str] = []
        self._turns = cycle(FAULTS)
        self._late: list[Asked] = []
        self._lock = threading.Lock()
        proxy = self

        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def answer(self) -> None:
                length = int(self.headers.get("Content-Length") or 0)
                proxy.pass_on(self, Asked(self.command, self.path, dict(self.headers.items()), self.rfile.read(length)))

            do_GET = do_HEAD = do_POST = do_PATCH = answer  # noqa: N815  # names of the standard library

            def log_message(self, format: str, *args: object) -> None:
                pass

        self._server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.address = f"http://localhost:{self._server.server_port}"
        threading.Thread(target=self._server.serve_forever, daemon=True).start()

    def ask(self, asked: Asked) -> tuple[int, list[tuple[str, str]], bytes]:
        link = http.client.HTTPConnection("127.0.0.1", self.port_behind, timeout=PATIENCE_SECONDS)
        try:
            link.request(asked.method, asked.path, asked.body or None, {**asked.headers, "Connection": "close"})
            reply = link.getresponse()
            return reply.status, reply.getheaders(), reply.read()
        finally:
            link.close()

    def pass_on(self, handler: BaseHTTPRequestHandler, asked: Asked) -> None:
        fault = self._fault(asked)
        handler.close_connection = True
        if self.is_down or fault == "lose the request":
            return
        try:
            reply = self.ask(asked)
            self._once_more(fault, asked)
        except OSError:
            return  # the server is down
        if fault == "delay":
            time.sleep(LATE_SECONDS)
        if fault != "lose the reply":
            _answer(handler, *reply)

    def _fault(self, asked: Asked) -> str:
        if not self.is_faulty or asked.method not in {"POST", "PATCH"}:
            return ""
        with self._lock:
            fault = next(self._turns)
            self.done.append(fault)
        return fault

    def _once_more(self, fault: str, asked: Asked) -> None:
        """A double comes at once; a late one only after what was asked next, so that the order is turned around."""
        with self._lock:
            late, self._late = self._late, [asked] if fault == "deliver later, too" else []
        for one in [asked] if fault == "double" else late:
            self.ask(one)

    def close(self) -> None:
        self._server.shutdown()
        self._server.server_close()


def _answer(handler: BaseHTTPRequestHandler, status: int, headers: list[tuple[str, str]], body: bytes) -> None:
    with suppress(OSError):  # the tablet has gone
        handler.send_response_only(status)
        for name, value in headers:
            if name.lower() not in OWN_TO_A_HOP | {"content-length"}:
                handler.send_header(name, value)
        if status != http.HTTPStatus.NO_CONTENT:
            handler.send_header("Content-Length", str(len(body)))
        handler.send_header("Connection", "close")
        handler.end_headers()
        if handler.command != "HEAD":
            handler.wfile.write(body)


@contextmanager
def proxied(address: str) -> Iterator[Proxy]:
    proxy = Proxy(address)
    try:
        yield proxy
    finally:
        proxy.close()


class Server:
    """The web server of production on the test's database, as a process of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        with socket.socket() as found:
            found.bind(("127.0.0.1", 0))
            self.port = found.getsockname()[1]
        self.address = f"http://localhost:{self.port}"
        self.environment = {**os.environ, "DATA_DIR": str(folder), "DEBUG": ""}
        name = str(connection.settings_dict["NAME"])
        if connection.vendor == "sqlite":
            (folder / "fencerow.sqlite3").symlink_to(name)
        else:
            url = urlsplit(os.environ["DATABASE_URL"])
            self.environment["DATABASE_URL"] = urlunsplit(url._replace(path=f"/{name}"))
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        bind = ["--bind", f"127.0.0.1:{self.port}", "--threads", "4", "--no-control-socket", "--log-level", "warning"]
        command = [sys.executable, "-m", "gunicorn", "deploy.wsgi:application", *bind]
        with (self.folder / "web.log").open("ab") as log:
            self.process = subprocess.Popen(
                command, cwd=ROOT, env=self.environment, stdout=log, stderr=log, start_new_session=True
            )
        end = time.monotonic() + PATIENCE_SECONDS
        while not self._is_up():
            assert time.monotonic() < end, (self.folder / "web.log").read_text()[-2000:]
            time.sleep(0.1)

    def _is_up(self) -> bool:
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)
        try:
            link.request("GET", "/healthz")
            return link.getresponse().status == http.HTTPStatus.OK
        except OSError:
            return False
        finally:
            link.close()

    def kill(self) -> None:
        """All at once, in the middle of whatever it does."""
        if self.process is not None:
            with suppress(ProcessLookupError):
                os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
        self.process = None


@contextmanager
def served(folder: Path) -> Iterator[Server]:
    folder.mkdir(parents=True)
    server = Server(folder)
    try:
        server.start()
        yield server
    finally:
        server.kill()
