"""Write a GeoPackage: in a child process, in memory, like reading; the heavy library stays out of the server."""

import base64
import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from shapely.geometry.base import BaseGeometry

from orders.sites.geofiles.areas import to_wkb
from orders.sites.geofiles.reading import CHILD_ENVIRONMENT, PROJECT_ROOT
from orders.sites.geofiles.records import Cell

CHILD_MODULE = "orders.sites.geofiles.child_writer"
SECONDS = 120.0


class NotWritten(Exception):
    """The file could not be made."""


@dataclass(frozen=True, slots=True)
class Layer:
    """Rows of one layer in WGS 84; `kinds` says of each field whether it is text, number, whole or day."""

    name: str
    kinds: Mapping[str, str]
    geometries: Sequence[BaseGeometry]
    rows: Sequence[Mapping[str, Cell]]


def geopackage(layer: Layer) -> bytes:
    """The file's bytes."""
    asked: dict[str, Any] = {
        "name": layer.name,
        "kinds": dict(layer.kinds),
        "wkb": [base64.b64encode(to_wkb(geometry)).decode() for geometry in layer.geometries],
        "rows": [[row.get(name) for name in layer.kinds] for row in layer.rows],
    }
    done = subprocess.run(
        [sys.executable, "-B", "-E", "-s", "-X", "utf8", "-W", "ignore", "-m", CHILD_MODULE],
        input=json.dumps(asked).encode(),
        capture_output=True,
        timeout=SECONDS,
        cwd=PROJECT_ROOT,
        env=CHILD_ENVIRONMENT,
        check=False,
    )
    if done.returncode != 0 or not done.stdout:
        raise NotWritten(done.stderr[-500:].decode(errors="replace"))
    return bytes(done.stdout)
