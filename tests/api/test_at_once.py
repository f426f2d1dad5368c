"""Many of the same request at the same moment, against real server processes: one effect, and one reply for all."""

import json
import socket
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from threading import Barrier
from urllib.error import HTTPError, URLError
from urllib.request import Request, urlopen

import pytest

from tests.kill.installation import ROOT, Installation

pytestmark = pytest.mark.kill

AT_ONCE = 8
LOGIN = """
from knox.models import AuthToken
from orders.common.clock import now
from orders.common.services import user_add
from orders.common.stamp import Stamp
stamp = Stamp(by=None, at=now())
user = user_add(stamp=stamp, username="desk", password="a long invented phrase", roles=["coordinator"])
print(AuthToken.objects.create(user)[1])
"""


@pytest.fixture
def installation(tmp_path):
    made = Installation(tmp_path)
    try:
        made.manage("migrate", "--verbosity", "0")
        yield made
    finally:
        made.remove()


@pytest.fixture
def server(installation):
    """Its address; it has as many processes as requests come at once."""
    with closing(socket.socket()) as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = ["-m", "gunicorn", "deploy.wsgi:application", "--workers", str(AT_ONCE), "--bind", f"127.0.0.1:{port}"]
    with (installation.folder / "worker.log").open("ab") as log:
        process = subprocess.Popen(
            [sys.executable, *words], cwd=ROOT, env=installation.environment, stdout=log, stderr=log
        )
    address = f"http://127.0.0.1:{port}"
    try:
        installation.wait_for(lambda: _is_up(address), "The server")
        yield address
    finally:
        process.terminate()
        process.wait()


def _is_up(address):
    try:
        with urlopen(f"{address}/readyz") as reply:
            return reply.status == 200
    except URLError:
        return False


def _at_once(server, token, keys, names):
    """Send a season with each key and name, all at the same moment; (status, body) of each."""
    together = Barrier(len(keys))

    def send(key, name):
        body = json.dumps({"name": name, "first_day": "2028-01-03", "last_day": "2028-12-15"}).encode()
        headers = {"Authorization": f"Token {token}", "Content-Type": "application/json", "Idempotency-Key": key}
        together.wait()
        try:
            with urlopen(Request(f"{server}/api/seasons", body, headers)) as reply:
                return reply.status, json.load(reply)
        except HTTPError as refused:
            return refused.code, json.load(refused)

    with ThreadPoolExecutor(len(keys)) as threads:
        return list(threads.map(send, keys, names))


def test_it_does_one_thing_for_one_key_and_lets_one_of_many_names_win(installation, server):
    token = installation.manage("shell", "--no-imports", "-c", LOGIN).split()[-1]
    same = _at_once(server, token, ["season-of-2028"] * AT_ONCE, ["2028"] * AT_ONCE)
    assert {status for status, _ in same} == {201}
    assert len({body["id"] for _, body in same}) == 1
    apart = _at_once(server, token, [f"another-{number}" for number in range(AT_ONCE)], ["2029"] * AT_ONCE)
    assert sorted(status for status, _ in apart) == [201] + [400] * (AT_ONCE - 1)
    assert installation.row("SELECT COUNT(*) FROM planning_season") == (2,)
