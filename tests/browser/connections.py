"""A test ends when the served site has answered all that its pages asked: a request that runs on meets the database and
the settings of another test."""

import socket
import time
from typing import Any

PATIENCE_SECONDS = 30


class Connections:
    """Those that Django's threaded server has taken and not closed yet."""

    def __init__(self, server: Any) -> None:
        self.open: set[socket.socket] = set()
        self._address: tuple[str, int] = server.server_address[:2]
        self._take, self._close = server.process_request, server.close_request
        server.process_request, server.close_request = self._taken, self._closed

    def _taken(self, request: Any, client: Any) -> None:
        self.open.add(request)
        self._take(request, client)

    def _closed(self, request: Any) -> None:
        self._close(request)
        self.open.discard(request)

    def end(self) -> None:
        """Wait until each has its answer; one that is kept open for more is closed."""
        self._take_those_that_wait()
        end = time.monotonic() + PATIENCE_SECONDS
        for link in tuple(self.open):
            _reads_no_more(link)
        while self.open:
            assert time.monotonic() < end, f"{len(self.open)} requests of this test are not answered"
            time.sleep(0.01)

    def _take_those_that_wait(self) -> None:
        """They are taken in turn: once a new one is closed, those before it have been taken."""
        with socket.create_connection(self._address, timeout=PATIENCE_SECONDS) as last:
            last.shutdown(socket.SHUT_WR)
            last.recv(1)


def _reads_no_more(link: socket.socket) -> None:
    """What was sent before is still read."""
    try:
        link.shutdown(socket.SHUT_RD)
    except OSError:
        return  # it was closed in between
