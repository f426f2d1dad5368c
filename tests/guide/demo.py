"""The demo, served from a copy of its own: what is given is not changed."""

import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import closing
from pathlib import Path
from urllib.error import URLError

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_SECONDS = 120
CODE = re.compile(r"\b[0-9A-Z]{4} [0-9A-Z]{4}\b")
# A developer's own servers are no place for a copy.
NOT_TAKEN_OVER = {"DATABASE_URL", "REDIS_URL", "ALLOWED_HOSTS", "BEHIND_TLS_PROXY"}


class Demo:
    def __init__(self, folder: Path, made: Path | None = None) -> None:
        """In `folder`; from `made`, the data folder of a demo that was walked before, else walked now."""
        self.folder = folder / "demo"
        kept = {name: value for name, value in os.environ.items() if name not in NOT_TAKEN_OVER}
        self.environment = {**kept, "DATA_DIR": str(self.folder), "DEBUG": "1"}
        self.server: subprocess.Popen[bytes] | None = None
        self.log = folder / "server.log"
        if made:
            shutil.copytree(made, self.folder)
            self._run("manage.py", "migrate", "--verbosity", "0")
        else:
            self._run("manage.py", "demo", "--once")

    def _run(self, *words: str) -> str:
        done = subprocess.run(
            [sys.executable, *words], cwd=ROOT, env=self.environment, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, f"{' '.join(words)}:\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}"
        return done.stdout

    def serve(self) -> str:
        """Its address, once it answers."""
        with closing(socket.socket()) as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        words = ["-m", "tests.guide.fixed", "runserver", "--noreload", str(port)]
        with self.log.open("wb") as log:
            self.server = subprocess.Popen(
                [sys.executable, *words], cwd=ROOT, env=self.environment, stdout=log, stderr=subprocess.STDOUT
            )
        address = f"http://127.0.0.1:{port}"
        self._wait_for(f"{address}/healthz")
        return address

    def _wait_for(self, address: str) -> None:
        assert self.server
        end = time.monotonic() + PATIENCE_SECONDS
        while True:
            assert self.server.poll() is None, f"The server ended:\n{self.log.read_text()[-2000:]}"
            assert time.monotonic() < end, f"{address} never answered"
            try:
                with urllib.request.urlopen(address, timeout=10):
                    return
            except (URLError, OSError):
                time.sleep(0.2)

    def code_for(self, login: str) -> str:
        """A code that makes a tablet known."""
        found = CODE.search(self._run("-m", "tests.guide.fixed", "field", "--as", "coordinator", "enroll", login))
        assert found, "no code was printed"
        return found[0]

    def stop(self) -> None:
        if self.server:
            self.server.terminate()
            self.server.wait(timeout=30)
