"""A tablet's line over real HTTP: connections that break, replies that are thrown away, a server that asks to wait."""

import http.client
import json
import time
from dataclasses import dataclass, field
from random import Random
from typing import Any

PATIENCE_SECONDS = 60  # as the app has it
WAIT = {429, 503}


@dataclass
class HttpLine:
    """`drop` is the share of replies that are thrown away after the server has sent them. `seconds` holds how long
    each batch took that came back; `waited` counts how often the server asked to wait."""

    port: int
    token: str
    random: Random
    drop: float = 0.0
    seconds: list[float] = field(default_factory=list)
    lost: int = 0
    unreached: int = 0
    waited: int = 0
    misses: int = 0

    def __call__(self, batch: dict[str, Any]) -> dict[str, Any] | None:
        begun = time.monotonic()
        try:
            status, headers, told = self._post(batch)
        except (OSError, http.client.HTTPException, ValueError):
            self.unreached += 1
            self._missed()
            return None
        if status in WAIT:
            self.waited += 1
            time.sleep(float(headers.get("Retry-After") or 1))
            return None
        assert status == 200, (status, told)
        self.seconds.append(time.monotonic() - begun)
        if self.random.random() < self.drop:
            self.lost += 1
            self._missed()
            return None
        self.misses = 0
        return dict(told)

    def _missed(self) -> None:
        """Twice as long after each miss, as the app does it, though it begins with less."""
        self.misses += 1
        time.sleep(min(60.0, 0.25 * 2**self.misses) * (0.5 + self.random.random() / 2))

    def _post(self, batch: dict[str, Any]) -> tuple[int, Any, Any]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE_SECONDS)
        headers = {"Content-Type": "application/json", "Authorization": f"Tablet {self.token}"}
        try:
            connection.request("POST", "/tablet/sync/commands", json.dumps(batch), headers)
            reply = connection.getresponse()
            return reply.status, reply.headers, json.loads(reply.read())
        finally:
            connection.close()
