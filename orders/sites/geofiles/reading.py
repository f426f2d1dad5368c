"""Read a survey file that somebody sent: in a child process, from bytes, within limits."""

import logging
import os
import signal
import subprocess
import sys
from pathlib import Path

from orders.sites.geofiles.exchange import found_of, request_line, result_of
from orders.sites.geofiles.loading import ReadRequest
from orders.sites.geofiles.looking import Found
from orders.sites.geofiles.mapping import IDENTITY, FieldMapping
from orders.sites.geofiles.records import FileRefused, Limits, RawFile

log = logging.getLogger(__name__)

CHILD_MODULE = "orders.sites.geofiles.child"
LOGGED_BYTES = 2000
PROJECT_ROOT = Path(__file__).resolve().parents[3]
# What the child's libraries need of our environment; no setting and no secret goes with it.
PASSED_ON = ("LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH", "SYSTEMROOT")
CHILD_ENVIRONMENT = {
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "PROJ_NETWORK": "OFF",
}


def read_file(
    data: bytes,
    filename: str,
    limits: Limits | None = None,
    layer: str | None = None,
    *,
    mapping: FieldMapping = IDENTITY,
) -> RawFile:
    """The rows of the file with geometries in WGS 84, or `FileRefused`.

    `filename` is only looked at for its ending. `layer` goes before the mapping's own; the mapping also gives the
    coordinate system of a file that does not name one, and a table's geometry columns.
    """
    return result_of(_reply_to(mapping.request(filename, limits or Limits(), layer), data))


def look_file(
    data: bytes, filename: str, limits: Limits | None = None, layer: str | None = None, crs: str | None = None
) -> Found:
    """What is in the file: layers, columns, first rows; of one layer, the fullest where none is named."""
    request = ReadRequest(filename=filename, limits=limits or Limits(), layer=layer, crs=crs, look=True)
    return found_of(_reply_to(request, data))


def _reply_to(request: ReadRequest, data: bytes) -> bytes:
    limits = request.limits
    if len(data) > limits.file_bytes:
        raise FileRefused("too_large", f"The file is larger than {limits.file_bytes // 1024**2} MB.")
    try:
        done = subprocess.run(
            [sys.executable, "-B", "-E", "-s", "-X", "utf8", "-W", "ignore", "-m", CHILD_MODULE],
            input=request_line(request) + data,
            capture_output=True,
            timeout=limits.wall_seconds,
            cwd=PROJECT_ROOT,
            env={**CHILD_ENVIRONMENT, **{name: os.environ[name] for name in PASSED_ON if name in os.environ}},
            check=False,
        )
    except subprocess.TimeoutExpired as late:
        raise _timed_out() from late
    if done.stderr:
        log.warning("reading a survey file: %s", done.stderr[-LOGGED_BYTES:].decode(errors="replace"))
    if done.returncode == -signal.SIGXCPU:
        raise _timed_out()
    if done.returncode != 0:
        log.warning("reading a survey file ended with code %s", done.returncode)
        raise FileRefused("unreadable", "The file could not be read: it is damaged, or larger than it looks.")
    return bytes(done.stdout)


def _timed_out() -> FileRefused:
    return FileRefused("timed_out", "Reading the file took too long. Simplify its outlines or split it.")
