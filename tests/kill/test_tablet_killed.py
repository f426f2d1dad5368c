"""The server is killed in the middle of batches, again and again; every command is applied once all the same."""

import json
import socket
import threading
from pathlib import Path

import pytest

from tests.api.tablet_day import COUNTS, expected, tablet_open
from tests.kill.installation import Installation

pytestmark = pytest.mark.kill

WORLD = "from pathlib import Path; from tests.api.tablet_world import world_make; world_make({tablets}, Path({path!r}))"
TABLETS, COMMANDS, KILLS = 3, 60, 4
KEPT = COUNTS["commands"]


@pytest.fixture
def installation(tmp_path):
    made = Installation(tmp_path)
    try:
        made.manage("migrate", "--verbosity", "0")
        made.python(WORLD.format(tablets=TABLETS, path=str(tmp_path / "world.json")))
        yield made
    finally:
        made.remove()


def _free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def _tablets(folder: Path, port: int):
    rows = json.loads((folder / "world.json").read_text())
    return [tablet_open(row, port, commands=COMMANDS, drop=0.2, seed=number) for number, row in enumerate(rows)]


def test_it_applies_everything_once_however_often_the_server_is_killed(installation):
    port = _free_port()
    tablets = _tablets(installation.folder, port)
    web = installation.start_web(port)
    threads = [threading.Thread(target=tablet.sync) for tablet in tablets]
    for thread in threads:
        thread.start()
    for number in range(KILLS):
        sent = TABLETS * COMMANDS * (number + 1) // (KILLS + 2)
        installation.wait_for(lambda sent=sent: installation.row(KEPT)[0] > sent, f"command {sent}")
        installation.kill(web)
        web = installation.start_web(port)
    for thread in threads:
        thread.join()
    assert sum(tablet.line.unreached for tablet in tablets) > 0
    assert {answer["state"] for tablet in tablets for answer in tablet.answers.values()} == {"applied"}
    assert {name: int(installation.row(query)[0]) for name, query in COUNTS.items()} == expected(TABLETS, COMMANDS)
