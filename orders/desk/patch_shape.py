"""A patch's outline as a small picture, from its own geometry: no map lies behind it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import cos, radians
from typing import Any

from django.utils.html import format_html
from django.utils.safestring import SafeString

SIDE_PX = 240.0
MARGIN_PX = 10.0
METERS_A_DEGREE = 111_320.0  # of latitude, near enough for a picture

Ring = list[tuple[float, float]]


@dataclass(frozen=True)
class Shape:
    """SVG markup, and how wide and high the outline is on the ground."""

    svg: SafeString
    width_m: float
    height_m: float


def patch_shape(geometry: Mapping[str, Any], title: str) -> Shape | None:
    """None for a point, which has no outline."""
    rings = [ring for ring in _rings(geometry) if len(ring) > 2]
    if not rings:
        return None
    points = [point for ring in rings for point in ring]
    west, south = min(lon for lon, _ in points), min(lat for _, lat in points)
    east, north = max(lon for lon, _ in points), max(lat for _, lat in points)
    narrow = cos(radians((south + north) / 2))
    width, height = max((east - west) * narrow, 1e-9), max(north - south, 1e-9)
    scale = (SIDE_PX - 2 * MARGIN_PX) / max(width, height)
    path = " ".join(_path(ring, west, north, narrow, scale) for ring in rings)
    size = (round(width * scale + 2 * MARGIN_PX), round(height * scale + 2 * MARGIN_PX))
    svg = format_html(
        '<svg class="patch-shape" viewBox="0 0 {} {}" width="{}" height="{}" role="img" aria-label="{}">'
        '<path d="{}" fill="currentColor" fill-opacity="0.18" stroke="currentColor" stroke-width="2" '
        'fill-rule="evenodd"/></svg>',
        *size,
        *size,
        title,
        path,
    )
    return Shape(svg, width * METERS_A_DEGREE, height * METERS_A_DEGREE)


def _path(ring: Ring, west: float, north: float, narrow: float, scale: float) -> str:
    placed = [
        f"{MARGIN_PX + (lon - west) * narrow * scale:.1f},{MARGIN_PX + (north - lat) * scale:.1f}" for lon, lat in ring
    ]
    return f"M{' L'.join(placed)} Z"


def _rings(geometry: Mapping[str, Any]) -> Iterator[Ring]:
    kind, parts = geometry.get("type"), geometry.get("coordinates", [])
    polygons = [parts] if kind == "Polygon" else parts if kind == "MultiPolygon" else []
    for polygon in polygons:
        for ring in polygon:
            yield [(float(point[0]), float(point[1])) for point in ring]
