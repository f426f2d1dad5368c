"""Areas and outlines on the WGS 84 ellipsoid, and the two stored forms of a geometry: GeoJSON text and WKB.

All geometries are in degrees, longitude first.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from pyproj import Geod
from shapely.geometry.base import BaseGeometry

# 7 decimals of a degree are about 1 cm on the ground: below what any survey on foot can tell.
COORDINATE_DECIMALS = 7
WGS84 = Geod(ellps="WGS84")


@dataclass(frozen=True, slots=True)
class Bounds:
    """A box in degrees."""

    west: float
    south: float
    east: float
    north: float


def normalise(geometry: BaseGeometry) -> BaseGeometry:
    """The same shape as we store it: two dimensions, 7 decimals, exteriors counter-clockwise, holes clockwise.

    The winding on output is that of RFC 7946, section 3.1.6; input wound otherwise is turned, as the RFC asks.
    """
    flat = shapely.force_2d(geometry)
    rounded = shapely.transform(flat, lambda degrees: np.round(degrees, COORDINATE_DECIMALS))
    return shapely.orient_polygons(rounded)


def geodesic_area_m2(geometry: BaseGeometry) -> float:
    """Area on the ellipsoid in m²; 0 for points and lines.

    Rings are oriented first: a hole wound like its exterior would be added instead of cut out.
    """
    area_m2, _ = WGS84.geometry_area_perimeter(shapely.orient_polygons(geometry))
    return abs(area_m2)


def distance_m(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Geodesic distance in metres between two positions (longitude, latitude)."""
    return float(WGS84.inv(*one, *other)[2])


def bounds(geometry: BaseGeometry) -> Bounds:
    """The box round the geometry."""
    return Bounds(*geometry.bounds)


def representative_point(geometry: BaseGeometry) -> tuple[float, float]:
    """A position (longitude, latitude) that is certain to lie within the geometry, as its centroid is not."""
    point = geometry.representative_point()
    return point.x, point.y


def to_geojson(geometry: BaseGeometry) -> str:
    """GeoJSON geometry text in the stored form."""
    return str(shapely.to_geojson(normalise(geometry)))


def from_geojson(text: str) -> BaseGeometry:
    """The geometry of a GeoJSON text that we wrote; shapely's error if it is not one."""
    return shapely.from_geojson(text)


def to_wkb(geometry: BaseGeometry) -> bytes:
    """Well-known binary in the stored form, little-endian whatever the machine."""
    return bytes(shapely.to_wkb(normalise(geometry), byte_order=1))


def from_wkb(data: bytes) -> BaseGeometry:
    """The geometry of WKB that we wrote; shapely's error if it is not one."""
    return shapely.from_wkb(data)


def canonical_wkb(geometry: BaseGeometry) -> bytes:
    """WKB that does not depend on where a ring starts or in which order the parts stand; for comparing, not storing."""
    return bytes(shapely.to_wkb(shapely.normalize(normalise(geometry)), byte_order=1))
