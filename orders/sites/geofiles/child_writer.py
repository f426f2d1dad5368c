"""The process that writes a GeoPackage: JSON in, the file's bytes out."""

import base64
import json
import os
import sys
from collections.abc import Sequence
from io import BytesIO
from typing import Any

import numpy as np

from orders.sites.geofiles.vectors import gdal

TYPES: dict[str, tuple[Any, Any]] = {  # numpy's type, and what stands where nothing is said
    "text": (object, None),
    "number": (np.float64, np.nan),
    "whole": (np.int64, 0),
    "day": ("datetime64[D]", np.datetime64("NaT")),
}


def written(asked: dict[str, Any]) -> bytes:
    kinds: dict[str, str] = asked["kinds"]
    columns = [[row[place] for row in asked["rows"]] for place in range(len(kinds))]
    file = BytesIO()
    gdal().raw.write(
        file,
        geometry=_objects([base64.b64decode(wkb) for wkb in asked["wkb"]]),
        field_data=[_array(kind, cells) for kind, cells in zip(kinds.values(), columns, strict=True)],
        field_mask=[np.array([cell is None for cell in cells], dtype=bool) for cells in columns],
        fields=np.array(list(kinds), dtype=object),
        layer=asked["name"],
        driver="GPKG",
        geometry_type="Unknown",  # points and outlines stand in one layer
        crs="EPSG:4326",
        encoding="UTF-8",
    )
    return file.getvalue()


def _array(kind: str, cells: Sequence[Any]) -> Any:
    dtype, nothing = TYPES[kind]
    if kind == "text":
        return _objects(cells)
    return np.array([nothing if cell is None else cell for cell in cells], dtype=dtype)


def _objects(cells: Sequence[Any]) -> Any:
    array = np.empty(len(cells), dtype=object)
    array[:] = cells
    return array


def main() -> None:
    """Write on the real standard output, after turning it away from libraries that might print."""
    out = os.dup(sys.stdout.fileno())
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    data = written(json.loads(sys.stdin.buffer.read()))
    with os.fdopen(out, "wb") as stream:
        stream.write(data)


if __name__ == "__main__":
    main()
