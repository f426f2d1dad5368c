"""Cutting an outline into pieces, and joining outlines: shapes alone, nothing stored."""

from collections.abc import Iterable, Sequence

import shapely
import shapely.ops
from shapely.geometry.base import BaseGeometry

from orders.common.errors import FieldError, Invalid
from orders.sites.geofiles.areas import geodesic_area_m2, normalise
from orders.sites.geofiles.outlines import LINES, Problem, usable
from orders.sites.geofiles.shape_text import shape_of_text
from orders.sites.overlaps import SLIVER_M2, SLIVER_SHARE

MOST_PIECES = 26
AREAS = frozenset({"Polygon", "MultiPolygon"})
NOT_CUT = "The patch cannot be split that way."


def outline_of(text: str, field: str, detail: str) -> BaseGeometry:
    """A usable outline that encloses ground, or a refusal that says why not."""
    shape = shape_of_text(text)
    judged = shape if isinstance(shape, Problem) else usable(shape)
    if isinstance(judged, Problem):
        raise Invalid(detail, [FieldError(field, judged.reason, code=judged.code)])
    if judged.geom_type not in AREAS:
        raise Invalid(detail, [FieldError(field, "Draw an outline; a place alone encloses no ground.")])
    return judged


def cut_by_line(ground: BaseGeometry, text: str) -> list[BaseGeometry]:
    """The pieces on both sides of a line, the largest first. A line that ends within the patch cuts nothing."""
    line = shape_of_text(text)
    if isinstance(line, Problem) or line.geom_type not in LINES:
        reason = line.reason if isinstance(line, Problem) else "Draw a line."
        raise Invalid(NOT_CUT, [FieldError("line", reason)])
    if not line.is_simple:
        raise Invalid(NOT_CUT, [FieldError("line", "The line crosses itself.", code="self_crossing")])
    parts = _polygons(ground)
    pieces = [piece for part in parts for piece in _polygons(shapely.ops.split(part, line))]
    if len(pieces) == len(parts):
        message = "The line does not cut the patch in two: begin and end it outside of the outline."
        raise Invalid(NOT_CUT, [FieldError("line", message)])
    return _ordered(pieces)


def cut_by_outlines(ground: BaseGeometry, text: str) -> list[BaseGeometry]:
    """Each outline that was drawn within the ground, and the rest of it where more than a sliver is left."""
    drawn = outline_of(text, "outlines", NOT_CUT)
    whole_m2 = geodesic_area_m2(ground)
    if geodesic_area_m2(shapely.difference(drawn, ground)) > max(SLIVER_M2, SLIVER_SHARE * whole_m2):
        raise Invalid(NOT_CUT, [FieldError("outlines", "What was drawn reaches out of the patch.")])
    inside = [shapely.intersection(piece, ground) for piece in _polygons(drawn)]
    rest = shapely.difference(ground, shapely.unary_union(inside))
    pieces = [_ground_alone(piece) for piece in [*inside, rest]]
    kept = [piece for piece in pieces if geodesic_area_m2(piece) > min(SLIVER_M2, SLIVER_SHARE * whole_m2)]
    if len(kept) < 2:
        raise Invalid(NOT_CUT, [FieldError("outlines", "Nothing of the patch is left beside what was drawn.")])
    return _ordered(kept)


def joined(shapes: Iterable[BaseGeometry]) -> BaseGeometry:
    """One outline of all, without the corners that rounding leaves between neighbors."""
    return normalise(_ground_alone(shapely.make_valid(normalise(shapely.unary_union(list(shapes))))))


def _ordered(pieces: Sequence[BaseGeometry]) -> list[BaseGeometry]:
    if len(pieces) > MOST_PIECES:
        raise Invalid(NOT_CUT, [FieldError("line", f"That makes {len(pieces)} pieces; at most {MOST_PIECES}.")])
    return sorted(pieces, key=lambda piece: (-geodesic_area_m2(piece), piece.bounds))


def _polygons(shape: BaseGeometry) -> list[BaseGeometry]:
    parts = list(shape.geoms) if hasattr(shape, "geoms") else [shape]
    return [part for part in parts if part.geom_type == "Polygon" and not part.is_empty]


def _ground_alone(shape: BaseGeometry) -> BaseGeometry:
    """Without the lines and points that are left where edges touch."""
    if shape.geom_type in AREAS:
        return shape
    nested = [piece for part in getattr(shape, "geoms", []) for piece in _polygons(part)]
    return shapely.unary_union(nested)
