"""Outlines of patches as a map can show them: simplified to half a pixel of a zoom, in whole numbers."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

import numpy as np
import shapely
from django.db.models import F, TextField
from django.db.models.functions import Cast, Greatest

from orders.reports.ground.columns import deltas
from orders.sites.selectors import surveys_current

TILE_PX = 256
LEAST_PX = 4  # what is smaller is a mark, not an outline
MOST = 4_000
LEAST_ZOOM, MOST_ZOOM = 8, 22
TOLERANCE = 1.0  # in half pixels


@dataclass(frozen=True)
class OutlineQuestion:
    """A box of degrees and a zoom: 0 shows the earth in 256 pixels, each more doubles it (Web Mercator)."""

    west: float
    south: float
    east: float
    north: float
    zoom: int


def ground_outlines(question: OutlineQuestion, *, by_id: bool) -> dict[str, Any]:
    """Rings in half pixels at the zoom, x to the east and y to the south of the box's northwest corner: the first
    point of each ring from that corner, every other from the one before it. The largest first, up to a limit."""
    surveys = _surveys(question)
    shapes = shapely.from_geojson(np.array([text for *_, text in surveys], dtype=object))
    origin = _halves(np.array([[question.west, question.north]]), question.zoom)[0].round()
    turned = shapely.transform(shapes, lambda points: _halves(points, question.zoom) - origin)
    simple = shapely.simplify(turned, TOLERANCE, preserve_topology=False)
    rings = [_rings(shape if not shape.is_empty else whole) for shape, whole in zip(simple, turned, strict=True)]
    named = {"id": [str(public_id) for _, public_id, _ in surveys]} if by_id else {"n": [n for n, *_ in surveys]}
    x, y = (int(value) for value in origin)
    return {"zoom": question.zoom, "x": x, "y": y, "is_all": len(surveys) < MOST, **named, "rings": rings}


def _surveys(question: OutlineQuestion) -> list[tuple[int, UUID, str]]:
    least = LEAST_PX * 360 / (TILE_PX * 2**question.zoom)
    size = Greatest(F("max_lon") - F("min_lon"), F("max_lat") - F("min_lat"))
    rows = (
        surveys_current()
        .prefetch_related(None)
        .filter(min_lon__lte=question.east, max_lon__gte=question.west)
        .filter(min_lat__lte=question.north, max_lat__gte=question.south)
        .annotate(size=size, text=Cast("geometry", TextField()))
        .filter(size__gte=least)
        .order_by("-size", "id")
        .values_list("patch_id", "patch__public_id", "text")
    )
    return list(rows[:MOST])


def _halves(points: Any, zoom: int) -> Any:
    """Degrees to half pixels, by the formulas of spherical Mercator (EPSG 3857)."""
    world = 2 * TILE_PX * 2**zoom
    lat = np.radians(points[:, 1])
    x = (points[:, 0] + 180) / 360
    y = (1 - np.arcsinh(np.tan(lat)) / np.pi) / 2
    return np.column_stack([x * world, y * world])


def _rings(shape: Any) -> list[list[int]]:
    """Each ring as one list, x and y in turn; the last point, which is the first, is left out."""
    found = []
    for part in shapely.get_parts(shape):
        for ring in (part.exterior, *part.interiors):
            points = shapely.get_coordinates(ring)[:-1].round().astype(int)
            found.append(_ring(points))
    return found


def _ring(points: Any) -> list[int]:
    x, y = deltas(points[:, 0].tolist()), deltas(points[:, 1].tolist())
    return [value for pair in zip(x, y, strict=True) for value in pair]
