"""How many bytes a page takes: its HTML, and over the wire with the styles and modules that it names, compressed."""

import gzip
import re
from functools import cache
from pathlib import Path

LINKED = re.compile(rb'<(?:link[^>]+rel="stylesheet"[^>]+href|script[^>]+src)="([^"]+)"|<link[^>]+href="([^"]+\.css)"')
IMPORTED = re.compile(rb'(?:from|import)\s*"(\.{1,2}/[^"]+\.js)"')
OF_MAP = ("leaflet", "/map/")


def sizes(body):
    """Kilobytes of the body, and over the wire with all that it loads; the map and its library do not count."""
    seen: dict[str, int] = {}
    for one, other in LINKED.findall(body):
        _collect((one or other).decode(), seen)
    wire = len(gzip.compress(body, 6)) + sum(seen.values())
    return len(body) / 1000, wire / 1000


def _collect(address, seen):
    name = address.split("/static/", 1)[-1].split("?")[0]
    if name in seen or any(part in f"/{name}" for part in OF_MAP):
        return
    path = _file(name)
    if path is None:
        return
    content = path.read_bytes()
    seen[name] = len(gzip.compress(content, 6))
    for other in IMPORTED.findall(content):
        _collect(str((Path("/") / name).parent.joinpath(other.decode()).resolve()).lstrip("/"), seen)


@cache
def _file(name):
    from django.contrib.staticfiles import finders

    plain = re.sub(r"\.[0-9a-f]{12}(\.\w+)$", r"\1", name)  # names of the manifest carry a hash
    found = finders.find(plain)
    return Path(found) if found else None
