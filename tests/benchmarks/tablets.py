"""`python -m tests.benchmarks.tablets --tablets 200 --commands 50 --drop 0.33 [--embedded]`: simulated tablets that all
come home at once, against two web workers. Prints what each batch took, and counts in the database.

PostgreSQL and Redis are those that DATABASE_URL and REDIS_URL name; with `--embedded` it is SQLite and the queue of
files. A batch's time begins when the tablet opens the connection, so it holds the time in the server's queue.
"""

import argparse
import json
import os
import signal
import sys
import tempfile
import threading
import time
from pathlib import Path

from tests.api.fake_tablet import FakeTablet
from tests.api.http_line import HttpLine
from tests.api.tablet_day import COUNTS, expected, tablet_open
from tests.kill.installation import Installation

WORLD = "from pathlib import Path; from tests.api.tablet_world import world_make; world_make({tablets}, Path({path!r}))"


def main() -> int:
    asked = _asked()
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # what was started is taken down
    if asked.embedded:
        os.environ.pop("DATABASE_URL", None)
        os.environ.pop("REDIS_URL", None)
    elif not (os.environ.get("DATABASE_URL") and os.environ.get("REDIS_URL")):
        sys.exit("Name PostgreSQL in DATABASE_URL and Redis in REDIS_URL, or say --embedded.")
    with tempfile.TemporaryDirectory() as folder:
        installation = Installation(Path(folder))
        try:
            return _measure(installation, asked)
        finally:
            installation.remove()


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tablets", type=int, default=200)
    parser.add_argument("--commands", type=int, default=50)
    parser.add_argument("--drop", type=float, default=0.33, help="share of replies that get lost")
    parser.add_argument("--embedded", action="store_true")
    parser.add_argument("--port", type=int, default=8614)
    parser.add_argument("--seed", type=int, default=1)
    return parser.parse_args()


def _measure(installation: Installation, asked: argparse.Namespace) -> int:
    facts = installation.folder / "world.json"
    installation.manage("migrate", "--verbosity", "0")
    installation.python(WORLD.format(tablets=asked.tablets, path=str(facts)))
    installation.start_web(asked.port)
    rows = json.loads(facts.read_text())
    tablets = [
        tablet_open(row, asked.port, commands=asked.commands, drop=asked.drop, seed=asked.seed * 10_000 + number)
        for number, row in enumerate(rows)
    ]
    begun = time.monotonic()
    _run(tablets)
    _tell(tablets, time.monotonic() - begun)
    return _count(installation, asked)


def _run(tablets: list[FakeTablet]) -> None:
    threads = [threading.Thread(target=tablet.sync, daemon=True) for tablet in tablets]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def _tell(tablets: list[FakeTablet], seconds: float) -> None:
    lines = [tablet.line for tablet in tablets if isinstance(tablet.line, HttpLine)]
    took = sorted(second for line in lines for second in line.seconds)
    sent = sum(len(tablet.written) for tablet in tablets)
    lost, unreached, waited = (sum(getattr(line, name) for line in lines) for name in ("lost", "unreached", "waited"))
    print(f"{len(tablets)} tablets, {sent} commands, {seconds:.1f} s: {sent / seconds:.0f} commands a second")
    print(f"batches answered {len(took)}, replies lost {lost}, not reached {unreached}, asked to wait {waited}")
    p50, p95 = (took[min(len(took) - 1, int(len(took) * share))] for share in (0.5, 0.95))
    print(f"a batch took p50 {p50:.2f} s, p95 {p95:.2f} s, at most {took[-1]:.2f} s")


def _count(installation: Installation, asked: argparse.Namespace) -> int:
    found = {name: int(installation.row(query)[0]) for name, query in COUNTS.items()}
    wanted = expected(asked.tablets, asked.commands)
    for name, count in found.items():
        print(f"{name}: {count}, as it must be" if count == wanted[name] else f"{name}: {count}, NOT {wanted[name]}")
    return 0 if found == wanted else 1


if __name__ == "__main__":
    sys.exit(main())
