"""A small map from our own outlines: the site and the patches, drawn alike on a page and in a PDF."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

WIDTH, HEIGHT, MARGIN = 480.0, 300.0, 12.0
# Bars of a length that people can pace: feet, and the meters that they are (exact).
BARS = ((100, 30.48), (200, 60.96), (500, 152.4), (1_000, 304.8), (2_000, 609.6), (5_280, 1609.344))
M_PER_DEGREE = 111_320.0  # of latitude; near enough for a sketch

Ring = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Shape:
    """Points from the lower left corner."""

    points: Ring
    is_patch: bool
    name: str = ""

    @property
    def middle(self) -> tuple[float, float]:
        xs, ys = zip(*self.points, strict=True)
        return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2

    @property
    def svg(self) -> str:
        return " ".join(f"{x:.1f},{HEIGHT - y:.1f}" for x, y in self.points)

    @property
    def svg_middle(self) -> tuple[str, str]:
        x, y = self.middle
        return f"{x:.1f}", f"{HEIGHT - y:.1f}"


@dataclass(frozen=True)
class PaperMap:
    """North is up. `bar_feet` is as long as `bar` points."""

    shapes: tuple[Shape, ...]
    bar_feet: int
    bar: float

    @property
    def bar_end(self) -> str:
        return f"{MARGIN + self.bar:.1f}"


def paper_map(site: Mapping[str, Any], patches: Sequence[tuple[str, Mapping[str, Any]]]) -> PaperMap | None:
    """From GeoJSON: the patches with some of the site around them."""
    rings = [(ring, "", False) for ring in _rings(site)]
    marked = [(ring, name, True) for name, geometry in patches for ring in _rings(geometry)]
    if not marked:
        return None
    frame = _frame([ring for ring, *_ in marked])
    shapes = [Shape(_placed(ring, frame), is_patch, name) for ring, name, is_patch in (*rings, *marked)]
    feet, meters = max((bar for bar in BARS if bar[1] * frame.scale <= WIDTH / 3), default=BARS[0])
    return PaperMap(tuple(shapes), feet, meters * frame.scale)


@dataclass(frozen=True)
class _Frame:
    lon: float
    lat: float
    m_per_lon: float
    scale: float


def _frame(rings: Sequence[Ring]) -> _Frame:
    """All patches fit, with a third of their size around them, but no closer than 100 m across."""
    lons = [lon for ring in rings for lon, _ in ring]
    lats = [lat for ring in rings for _, lat in ring]
    lon, lat = (min(lons) + max(lons)) / 2, (min(lats) + max(lats)) / 2
    m_per_lon = M_PER_DEGREE * math.cos(math.radians(lat))
    across = max((max(lons) - min(lons)) * m_per_lon * 1.33, 100.0)
    along = max((max(lats) - min(lats)) * M_PER_DEGREE * 1.33, 100.0)
    scale = min((WIDTH - 2 * MARGIN) / across, (HEIGHT - 2 * MARGIN) / along)
    return _Frame(lon, lat, m_per_lon, scale)


def _placed(ring: Ring, frame: _Frame) -> Ring:
    return [
        (
            WIDTH / 2 + (lon - frame.lon) * frame.m_per_lon * frame.scale,
            HEIGHT / 2 + (lat - frame.lat) * M_PER_DEGREE * frame.scale,
        )
        for lon, lat in ring
    ]


def _rings(geometry: Mapping[str, Any]) -> Iterator[Ring]:
    """Outer outlines; a point becomes a small square."""
    kind, at = geometry.get("type"), geometry.get("coordinates", ())
    if kind == "Polygon":
        yield [(lon, lat) for lon, lat, *_ in at[0]]
    elif kind == "MultiPolygon":
        yield from ([(lon, lat) for lon, lat, *_ in polygon[0]] for polygon in at)
    elif kind == "Point":
        lon, lat, half = at[0], at[1], 0.00005
        yield [(lon - half, lat - half), (lon + half, lat - half), (lon + half, lat + half), (lon - half, lat + half)]
