"""A site's boundary out of a geographic file: its one outline, whatever else the file says."""

from typing import Any

import shapely

from orders.common.errors import FieldError, Invalid
from orders.sites.geofiles.areas import normalise
from orders.sites.geofiles.reading import read_file
from orders.sites.geofiles.records import FileRefused
from orders.sites.limits import file_limits

OUTLINES = frozenset({"Polygon", "MultiPolygon"})


def boundary_of_file(data: bytes, file_name: str) -> dict[str, Any]:
    """The GeoJSON of the only outline in the file. Reads in a process of its own: call it outside of a transaction."""
    try:
        rows = read_file(data, file_name, file_limits()).rows
    except FileRefused as refused:
        raise _refusal(refused.message) from refused
    found = [row.geometry for row in rows if row.geometry is not None and row.geometry.geom_type in OUTLINES]
    if not found:
        raise _refusal("The file holds no outline.")
    if len(found) > 1:
        raise _refusal(f"The file holds {len(found):,} outlines, and a site has one: leave that one alone in the file.")
    told: dict[str, Any] = shapely.geometry.mapping(normalise(found[0]))
    return told


def _refusal(message: str) -> Invalid:
    return Invalid("The file's outline was not taken.", [FieldError("file", message)])
