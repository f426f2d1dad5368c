"""Firefox through its own remote protocol (Marionette: JSON behind its length, on a socket), since Playwright drives
only a Firefox of its own."""

import json
import os
import shutil
import signal
import socket
import subprocess
import time
from pathlib import Path
from typing import Any

FIREFOX = os.environ.get("FENCEROW_FIREFOX") or shutil.which("firefox-esr") or shutil.which("firefox")
PATIENCE_SECONDS = 60
SETTINGS = {
    "app.update.enabled": False,
    "browser.shell.checkDefaultBrowser": False,
    "datareporting.policy.dataSubmissionEnabled": False,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "toolkit.telemetry.enabled": False,
}


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


class Firefox:
    """One browser on a profile folder; `kill` and `start` again keep what the profile holds."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir()

    def start(self) -> None:
        port = free_port()
        rows = {**SETTINGS, "marionette.port": port}
        lines = [f"user_pref({json.dumps(name)}, {json.dumps(value)});" for name, value in rows.items()]
        (self.folder / "user.js").write_text("\n".join(lines))
        command = [str(FIREFOX), "--headless", "--marionette", "--no-remote", "--profile", str(self.folder)]
        self.process = subprocess.Popen(
            command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
        )
        self.link = self._linked(port)
        self._heard()  # its greeting
        self.last = 0
        self.ask("WebDriver:NewSession", {})

    def _linked(self, port: int) -> socket.socket:
        end = time.monotonic() + PATIENCE_SECONDS
        while True:
            try:
                return socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_SECONDS)
            except OSError:
                assert time.monotonic() < end, "Firefox does not listen"
                time.sleep(0.2)

    def _heard(self) -> Any:
        size = b""
        while not size.endswith(b":"):
            size += self._bytes(1)
        return json.loads(self._bytes(int(size[:-1])))

    def _bytes(self, count: int) -> bytes:
        found = b""
        while len(found) < count:
            part = self.link.recv(count - len(found))
            assert part, "Firefox has hung up"
            found += part
        return found

    def ask(self, name: str, given: dict[str, Any]) -> Any:
        self.last += 1
        sent = json.dumps([0, self.last, name, given]).encode()
        self.link.sendall(str(len(sent)).encode() + b":" + sent)
        _, _, error, result = self._heard()
        assert error is None, f"{name}: {error}"
        return result

    def go(self, address: str) -> None:
        self.ask("WebDriver:Navigate", {"url": address})

    def run(self, script: str, *given: Any) -> Any:
        """The value of an asynchronous piece of JavaScript in the page."""
        body = f"const [done] = [...arguments].slice(-1); (async (...given) => {{ {script} }})(...arguments).then(done)"
        result = self.ask("WebDriver:ExecuteAsyncScript", {"script": body, "args": list(given)})
        return result["value"]

    def until(self, so: str) -> None:
        end = time.monotonic() + PATIENCE_SECONDS
        while not self.run(f"return Boolean({so});"):
            assert time.monotonic() < end, f"never so: {so}"
            time.sleep(0.1)

    def kill(self) -> None:
        self.link.close()
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()
