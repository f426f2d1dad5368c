"""The process that opens a stranger's file: `python -m orders.sites.geofiles.child`.

Reads one request (a line of JSON, then the file's bytes) from standard input and writes one reply of JSON. Whatever
happens to it here, by fault or by intent, the parent only sees a reply that is late, missing or a refusal.
"""

import os
import resource
import sys
import traceback
from typing import BinaryIO

from orders.sites.geofiles.exchange import found_with, refusal_with, reply_with, request_from
from orders.sites.geofiles.formats import Format, format_of
from orders.sites.geofiles.loading import ReadRequest, finish
from orders.sites.geofiles.looking import Found, look_into
from orders.sites.geofiles.records import FileRefused, Limits, RawFile
from orders.sites.geofiles.tables import read_table
from orders.sites.geofiles.vectors import read_layer

# Made beforehand: when it is needed there is no memory to make it.
OUT_OF_MEMORY = refusal_with(FileRefused("out_of_memory", "The file needs more memory to read than is allowed."))


def hold_to(limits: Limits) -> None:
    """Bound the process's memory and processor time; it writes no files and leaves no core behind.

    The softer bound on time sends the signal that tells the parent why; the harder one, a second later, just ends it.
    """
    bounds = {
        resource.RLIMIT_AS: (limits.memory_bytes, limits.memory_bytes),
        resource.RLIMIT_CPU: (limits.cpu_seconds, limits.cpu_seconds + 1),
        resource.RLIMIT_FSIZE: (0, 0),
        resource.RLIMIT_CORE: (0, 0),
    }
    for kind, bound in bounds.items():
        try:
            resource.setrlimit(kind, bound)
        except (OSError, ValueError):
            # Some systems do not bound address space. The parent's clock and the limits on content still hold.
            continue


def read(data: bytes, request: ReadRequest) -> RawFile | Found:
    """The file's rows in WGS 84, or what is in it."""
    file_format = format_of(data, request.filename, request.limits)
    try:
        if request.look:
            return look_into(data, file_format, request)
        loaded = read_table(data, request) if file_format == Format.CSV else read_layer(data, file_format, request)
        return finish(loaded, file_format, request)
    except (FileRefused, MemoryError):
        raise
    except Exception as broken:
        traceback.print_exc()
        raise FileRefused(
            "unreadable", f"The file could not be read as {file_format}: it is damaged or incomplete."
        ) from broken


def answer(source: BinaryIO) -> bytes:
    """The reply to the request on the stream."""
    request = request_from(source.readline())
    hold_to(request.limits)
    try:
        read_out = read(source.read(), request)
        return reply_with(read_out) if isinstance(read_out, RawFile) else found_with(read_out)
    except FileRefused as refused:
        return refusal_with(refused)
    except MemoryError:
        return OUT_OF_MEMORY


def main() -> None:
    """Answer on the real standard output, after turning it away from libraries that might print."""
    out = os.dup(sys.stdout.fileno())
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    reply = answer(sys.stdin.buffer)
    with os.fdopen(out, "wb") as stream:
        stream.write(reply)


if __name__ == "__main__":
    main()
