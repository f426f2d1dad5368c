"""Which outlines lie on the same ground, by their shapes and not by the names of patches.

Two outlines share ground where their overlap is more than a sliver. A ground is a largest set of outlines of which
every two share ground and which all meet in one piece of the overlay. Where that piece itself is small, the set still
counts: the reading is the cautious one, everything that may lie on top of each other does.

Boxes are compared first (a tree of rectangles), so that outlines far apart cost next to nothing; what may touch is laid
on a local plane in meters, where the areas of pieces of a few kilometers are right to better than 0.1%.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

# Two walks round the same edge with a hand-held receiver differ by a few meters; neighbors that were drawn apart touch
# in strips as thin. An overlap is such a strip where it is both a small share of the smaller outline and a small piece
# of ground: a share alone would let large treated strips pass, a size alone whole small patches. Tunable; ours.
SLIVER_SHARE = 0.01
SLIVER_M2 = 25.0

# Length of a degree on the WGS 84 ellipsoid near a latitude, in meters: the first terms of its series.
_LATITUDE = (111_132.92, -559.82, 1.175)
_LONGITUDE = (111_412.84, -93.5, 0.118)

Pairs = set[tuple[int, int]]
Box = tuple[float, float, float, float]


@dataclass(frozen=True, kw_only=True)
class Outline:
    """A shape on the ground: `key` is what the grounds are made of, `area_m2` what a point stands for (as a circle)."""

    key: str
    geometry: Mapping[str, Any]
    area_m2: float


def meters_a_degree(latitude: float) -> tuple[float, float]:
    """Meters in a degree of longitude and in one of latitude."""
    phi = np.radians(latitude)
    east = sum(part * np.cos((2 * n + 1) * phi) for n, part in enumerate(_LONGITUDE))
    north = sum(part * np.cos(2 * n * phi) for n, part in enumerate(_LATITUDE))
    return float(east), float(north)


def radius_m(outline: Outline) -> float:
    """How far beyond its own coordinates the outline reaches: a point is a circle of its area."""
    return float(np.sqrt(outline.area_m2 / np.pi)) if outline.geometry["type"] == "Point" else 0.0


def box_degrees(outline: Outline) -> Box:
    """West, south, east, north; a point's circle within it."""
    return _box(_shape(outline), radius_m(outline))


def grounds(outlines: Sequence[Outline]) -> list[frozenset[str]]:
    """The largest sets of keys that hit one piece of ground; an outline that meets no other is a set by itself."""
    alike: dict[tuple[bytes, float], list[str]] = {}
    shapes: list[tuple[BaseGeometry, float]] = []
    for outline in outlines:
        shape, radius = _shape(outline), radius_m(outline)
        if (shape.wkb, radius) not in alike:
            shapes.append((shape, radius))
        alike.setdefault((shape.wkb, radius), []).append(outline.key)
    keys = list(alike.values())
    found = [members for cluster in _clusters(shapes) for members in _grounds_of(cluster, shapes)]
    return [frozenset(key for member in members for key in keys[member]) for members in _largest(found)]


def _shape(outline: Outline) -> BaseGeometry:
    """Valid, and areas alone where mending an outline that crosses itself leaves lines over."""
    shape = shapely.geometry.shape(outline.geometry)
    if shape.is_valid:
        return shape
    parts = shapely.get_parts(shapely.make_valid(shape))
    return shapely.union_all(parts[shapely.get_dimensions(parts) == shapely.get_dimensions(parts).max()])


def _box(shape: BaseGeometry, radius: float) -> Box:
    west, south, east, north = shape.bounds
    east_m, north_m = meters_a_degree((south + north) / 2)
    return west - radius / east_m, south - radius / north_m, east + radius / east_m, north + radius / north_m


def _linked(size: int, pairs: Iterable[tuple[int, int]]) -> list[list[int]]:
    """The groups of 0 to size - 1 that the pairs link, each in order."""
    root = list(range(size))

    def top(index: int) -> int:
        while root[index] != index:
            root[index] = root[root[index]]
            index = root[index]
        return index

    for one, other in pairs:
        root[top(one)] = top(other)
    found: dict[int, list[int]] = {}
    for index in range(size):
        found.setdefault(top(index), []).append(index)
    return list(found.values())


def _clusters(shapes: Sequence[tuple[BaseGeometry, float]]) -> list[list[int]]:
    """Shapes whose boxes are linked through overlapping boxes."""
    if not shapes:
        return []
    boxes = shapely.box(*np.array([_box(*shape) for shape in shapes]).T)
    left, right = shapely.STRtree(boxes).query(boxes, predicate="intersects")
    return _linked(len(boxes), zip(left.tolist(), right.tolist(), strict=True))


def _grounds_of(cluster: list[int], shapes: Sequence[tuple[BaseGeometry, float]]) -> list[frozenset[int]]:
    if len(cluster) == 1:
        return [frozenset(cluster)]
    plane = _on_a_plane([shapes[index] for index in cluster])
    shared = _sharing(plane)
    linked = _linked(len(plane), shared)
    return [frozenset(cluster[each] for each in members) for group in linked for members in _met(group, plane, shared)]


def _met(group: list[int], plane: Sequence[BaseGeometry], shared: Pairs) -> list[frozenset[int]]:
    """The grounds of shapes that are linked: all of them where all meet, else what the overlay says."""
    if len(group) <= 2 or (_all_share(group, shared) and _meet([plane[index] for index in group])):
        return [frozenset(group)]
    pieces = [frozenset(group[index] for index in met) for met in _pieces([plane[index] for index in group])]
    found = [clique for met in _largest(pieces) for clique in _cliques(met, shared)]
    # A pair that the overlay's arithmetic might lose is still a pair.
    return [*found, *(frozenset(pair) for pair in shared if pair[0] in group)]


def _on_a_plane(shapes: Sequence[tuple[BaseGeometry, float]]) -> list[BaseGeometry]:
    """The shapes in meters from the middle of all of them."""
    west, south, east, north = np.array([_box(*shape) for shape in shapes]).T
    middle = np.array([(west.min() + east.max()) / 2, (south.min() + north.max()) / 2])
    scale = np.array(meters_a_degree(float(middle[1])))
    flat = shapely.transform([shape for shape, _ in shapes], lambda degrees: (degrees - middle) * scale)
    return [
        shape.buffer(radius, quad_segs=32) if radius else shape for shape, (_, radius) in zip(flat, shapes, strict=True)
    ]


def _sharing(shapes: Sequence[BaseGeometry]) -> Pairs:
    """Pairs whose overlap is more than a sliver."""
    left, right = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    ordered = left < right
    left, right = left[ordered], right[ordered]
    stack = np.array(shapes, dtype=object)
    common_m2 = shapely.area(shapely.intersection(stack[left], stack[right]))
    smaller_m2 = np.minimum(shapely.area(stack[left]), shapely.area(stack[right]))
    counts = (common_m2 >= SLIVER_M2) | ((common_m2 > 0) & (common_m2 >= SLIVER_SHARE * smaller_m2))
    return {(int(one), int(other)) for one, other in zip(left[counts], right[counts], strict=True)}


def _all_share(group: Sequence[int], shared: Pairs) -> bool:
    return all(pair in shared for pair in combinations(sorted(group), 2))


def _meet(shapes: Sequence[BaseGeometry]) -> bool:
    """Whether one piece of ground lies under all of them."""
    common = shapes[0]
    for shape in shapes[1:]:
        common = common.intersection(shape)
    return bool(common.area > 0)


def _pieces(shapes: Sequence[BaseGeometry]) -> set[frozenset[int]]:
    """Which shapes cover each piece of the overlay of all of them; a hole is not covered."""
    lines = shapely.union_all(shapely.boundary(shapes))
    faces = shapely.get_parts(shapely.polygonize([lines]))
    inside, covers = shapely.STRtree(shapes).query(shapely.point_on_surface(faces), predicate="intersects")
    found: dict[int, set[int]] = {}
    for face, shape in zip(inside.tolist(), covers.tolist(), strict=True):
        found.setdefault(face, set()).add(shape)
    return {frozenset(met) for met in found.values()}


def _cliques(met: frozenset[int], shared: Pairs) -> list[frozenset[int]]:
    """The largest sets within a piece of which every two share ground; all of them, mostly."""
    if _all_share(sorted(met), shared):
        return [met]
    near = {one: {other for other in met if (min(one, other), max(one, other)) in shared} for one in met}
    found: list[frozenset[int]] = []

    def grow(chosen: frozenset[int], open_: set[int], done: set[int]) -> None:
        if not open_ and not done:
            found.append(chosen)
            return
        pivot = max(open_ | done, key=lambda index: len(near[index] & open_))
        for index in sorted(open_ - near[pivot]):
            grow(chosen | {index}, open_ & near[index], done & near[index])
            open_ = open_ - {index}
            done = done | {index}

    grow(frozenset(), set(met), set())
    return found


def _largest(found: Iterable[frozenset[int]]) -> list[frozenset[int]]:
    """Without those that another one holds all of."""
    kept: list[frozenset[int]] = []
    holding: dict[int, list[frozenset[int]]] = {}
    for members in sorted(set(found), key=lambda members: (-len(members), sorted(members))):
        if not any(members <= other for other in holding.get(min(members), [])):
            kept.append(members)
            for index in members:
                holding.setdefault(index, []).append(members)
    return kept
