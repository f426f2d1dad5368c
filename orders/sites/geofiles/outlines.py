"""Is the location of a row usable? Each check looks at one thing and says in plain words what is wrong."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely.geometry.base import BaseGeometry

from orders.sites.geofiles.areas import Bounds, bounds, distance_m, geodesic_area_m2, normalise
from orders.sites.geofiles.records import KnownSite

LINES = frozenset({"LineString", "MultiLineString", "LinearRing"})
TAKEN = frozenset({"Point", "Polygon", "MultiPolygon"})
# How far from its site a patch may lie before it is asked whether longitude and latitude changed places (our choice).
NEAR_SITE_DEG = 0.5
# A program's site is never so wide that a patch spans half the globe: such an outline crosses the date line.
HALF_THE_GLOBE_DEG = 180.0
# Less than a hand's breadth squared is a slip of the pen (our choice).
LEAST_AREA_M2 = 0.01
# A walked outline whose ends are further apart than this share of its length deserves a look (our choice).
WIDE_GAP = 0.1


@dataclass(frozen=True, slots=True)
class Problem:
    """Why a location cannot be taken, or should be looked at."""

    code: str
    reason: str


@dataclass(frozen=True, slots=True)
class Place:
    """Where a location ought to lie: by its site where that is known, else anywhere that is plausible."""

    plausible: Bounds
    site_code: str = ""
    site: KnownSite | None = None


def usable(geometry: BaseGeometry) -> BaseGeometry | Problem:
    """The geometry in our stored form, or what is wrong with it whatever its place."""
    kind = _kind_problem(geometry)
    if kind:
        return kind
    single = geometry.geoms[0] if geometry.geom_type == "MultiPoint" else geometry
    shape = normalise(single)
    for check in CHECKS:
        problem = check(shape)
        if problem:
            return problem
    return shape


def closed_track(track: BaseGeometry) -> tuple[BaseGeometry, Problem | None]:
    """A walked line as an outline: its pieces in order, its ends joined; with a word where the ends were far apart.

    Anything that cannot be closed comes back as it is.
    """
    positions = shapely.get_coordinates(track)
    if track.geom_type not in LINES or len(positions) < 3:
        return track, None
    walked = [(float(east), float(north)) for east, north in positions]
    gap_m = distance_m(walked[0], walked[-1])
    around_m = sum(distance_m(one, other) for one, other in pairwise(walked))
    wide = gap_m > WIDE_GAP * around_m
    doubt = Problem("track_gap", f"The track's ends were {gap_m:.0f} m apart and were joined.") if wide else None
    return shapely.Polygon(walked), doubt


def misplaced(shape: BaseGeometry, place: Place) -> Problem | None:
    """An error where the location cannot be meant, and says so where it reads as latitude before longitude."""
    east, north = _middle(shape)
    home = _site_box(place.site)
    near = _widened(home, NEAR_SITE_DEG) if home else place.plausible
    if _within(east, north, near):
        return None
    if _within(north, east, near):
        return Problem("longitude_latitude_swapped", _swapped_reason(east, north, place))
    if _within(east, north, place.plausible):
        return None
    return Problem("location_implausible", f"{_position(east, north)} lies outside of where this program works.")


def outside_site(shape: BaseGeometry, place: Place) -> Problem | None:
    """A warning where the location does not touch its site."""
    ground = _site_ground(place.site)
    if ground is None or shapely.intersects(ground, shape):
        return None
    gap = shapely.get_coordinates(shapely.shortest_line(ground, shape))
    away_m = distance_m(tuple(gap[0]), tuple(gap[1]))
    return Problem("outside_site", f"The location lies {away_m:,.0f} m outside of site {place.site_code}.")


def _kind_problem(geometry: BaseGeometry) -> Problem | None:
    kind = geometry.geom_type
    if geometry.is_empty:
        return Problem("geometry_empty", "The location is empty.")
    if kind in LINES:
        return Problem("line_geometry", "A patch is an outline or a point; this is a line.")
    if kind == "MultiPoint" and len(geometry.geoms) > 1:
        return Problem("several_points", f"The row has {len(geometry.geoms)} points; give each its own row.")
    if kind not in TAKEN and kind != "MultiPoint":
        return Problem("geometry_mixed", "The location mixes points, lines or outlines; give it as outlines alone.")
    return None


def _out_of_range(shape: BaseGeometry) -> Problem | None:
    box = bounds(shape)
    if box.west >= -180 and box.east <= 180 and box.south >= -90 and box.north <= 90:
        return None
    if box.west >= -90 and box.east <= 90 and box.south >= -180 and box.north <= 180:
        return Problem(
            "longitude_latitude_swapped",
            f"{_position(*_middle(shape))} is not on Earth, but would be with longitude and latitude exchanged.",
        )
    return Problem(
        "coordinates_out_of_range",
        f"{_position(box.west, box.south)} is not a longitude and latitude. "
        f"Are these metres or feet? Then name the coordinate system in the mapping.",
    )


def _over_date_line(shape: BaseGeometry) -> Problem | None:
    box = bounds(shape)
    if box.east - box.west <= HALF_THE_GLOBE_DEG:
        return None
    return Problem("crosses_date_line", "The outline crosses the 180° meridian. Cut it in two rows there.")


def _ill_drawn(shape: BaseGeometry) -> Problem | None:
    """What keeps an outline from enclosing ground. The words of the geometry library end in the place, in brackets."""
    if shape.is_valid:
        return None
    reason, _, where = shapely.is_valid_reason(shape).rstrip("]").partition("[")
    place = _position(*(float(number) for number in where.split()[:2])) if where else "an unknown place"
    if "self-intersection" in reason.casefold():
        return Problem("self_crossing", f"The outline crosses itself near {place}.")
    return Problem("outline_invalid", f"The outline is not drawn well ({reason.casefold()}) near {place}.")


def _no_ground(shape: BaseGeometry) -> Problem | None:
    if shape.geom_type == "Point" or geodesic_area_m2(shape) >= LEAST_AREA_M2:
        return None
    return Problem("area_zero", "The outline encloses no ground.")


Check = Callable[[BaseGeometry], Problem | None]
CHECKS: tuple[Check, ...] = (_out_of_range, _over_date_line, _ill_drawn, _no_ground)


def _site_ground(site: KnownSite | None) -> BaseGeometry | None:
    if site is None:
        return None
    if site.boundary is not None:
        return site.boundary
    return (
        shapely.box(site.bounds.west, site.bounds.south, site.bounds.east, site.bounds.north) if site.bounds else None
    )


def _site_box(site: KnownSite | None) -> Bounds | None:
    ground = _site_ground(site)
    return bounds(ground) if ground is not None else None


def _swapped_reason(east: float, north: float, place: Place) -> str:
    where = f"at site {place.site_code}" if _site_box(place.site) else "where this program works"
    return (
        f"Longitude and latitude seem to have changed places: {_position(east, north)} is far away, "
        f"and exchanged it lies {where}."
    )


def _middle(shape: BaseGeometry) -> tuple[float, float]:
    box = bounds(shape)
    return (box.west + box.east) / 2, (box.south + box.north) / 2


def _widened(box: Bounds, by_deg: float) -> Bounds:
    return Bounds(box.west - by_deg, box.south - by_deg, box.east + by_deg, box.north + by_deg)


def _within(east: float, north: float, box: Bounds) -> bool:
    return box.west <= east <= box.east and box.south <= north <= box.north


def _position(east: float, north: float) -> str:
    return f"longitude {east:.6f}, latitude {north:.6f}"
