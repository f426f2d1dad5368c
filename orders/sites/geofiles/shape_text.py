"""An outline as somebody typed, pasted or drew it: GeoJSON or well-known text, in degrees with longitude first."""

import json
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from orders.sites.geofiles.outlines import Problem

# Ample for an outline walked with a receiver; a whole survey belongs into a file (our own figures).
MOST_CHARACTERS = 2_000_000
MOST_CORNERS = 20_000
SRID = "SRID=4326;"
UNREAD = Problem("unreadable", "This is neither GeoJSON nor well-known text of an outline.")


def shape_of_text(text: str) -> BaseGeometry | Problem:
    """The shape that a text tells, not judged yet; or that it tells none."""
    stripped = text.strip()
    if not stripped:
        return Problem("geometry_missing", "Draw it, or give it as text.")
    if len(stripped) > MOST_CHARACTERS:
        return Problem("too_long", "This text is too long for one outline.")
    try:
        shape = _from_geojson(stripped) if stripped.startswith("{") else shapely.from_wkt(stripped.removeprefix(SRID))
    except (ValueError, TypeError, KeyError, RecursionError, shapely.errors.ShapelyError):
        return UNREAD
    if shape is None:
        return UNREAD
    if len(shapely.get_coordinates(shape)) > MOST_CORNERS:
        return Problem("too_many_corners", f"An outline has {MOST_CORNERS:,} corners at most.")
    return shape


def _from_geojson(text: str) -> BaseGeometry:
    shapes = [shapely.from_geojson(json.dumps(geometry)) for geometry in _geometries(json.loads(text))]
    return shapes[0] if len(shapes) == 1 else shapely.unary_union(shapes)


def _geometries(document: Any) -> list[Any]:
    """A geometry, or those of a feature or of a collection's features."""
    if document["type"] == "Feature":
        return [document["geometry"]]
    if document["type"] == "FeatureCollection":
        return [feature["geometry"] for feature in document["features"]]
    return [document]
