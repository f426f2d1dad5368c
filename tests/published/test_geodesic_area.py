"""Geodesic areas on WGS 84 and the GeoJSON rules on rings.

Area figures: computed with pyproj 3.7.2 on WGS 84 apart from this project; tolerance 0.01%.
Ring rules: RFC 7946 (August 2016), https://www.rfc-editor.org/rfc/rfc7946, section 3.1.6.
Acre: international, 4840 square yards of 0.9144 m.
"""

import json

import pytest
import shapely

from orders.sites.geofiles.areas import geodesic_area_m2, normalise, to_geojson

SQUARE = [(-85.70, 38.20), (-85.69, 38.20), (-85.69, 38.21), (-85.70, 38.21), (-85.70, 38.20)]
HOLE = [(-85.697, 38.203), (-85.697, 38.207), (-85.693, 38.207), (-85.693, 38.203), (-85.697, 38.203)]
ACRE_M2 = 4840 * 0.9144**2


def close(value: float) -> object:
    return pytest.approx(value, rel=1e-4)


def test_it_measures_the_square() -> None:
    area_m2 = geodesic_area_m2(shapely.Polygon(SQUARE))
    assert area_m2 == close(972_223.24)
    assert area_m2 / 10_000 == close(97.2223)
    assert area_m2 / ACRE_M2 == close(240.2416)


def test_it_measures_the_reversed_square_the_same() -> None:
    assert geodesic_area_m2(shapely.Polygon(SQUARE[::-1])) == close(972_223.24)


def test_it_measures_the_hole_alone() -> None:
    assert geodesic_area_m2(shapely.Polygon(HOLE)) == close(155_555.72)


@pytest.mark.parametrize("hole", [HOLE, HOLE[::-1]])
def test_it_measures_the_square_less_its_hole(hole: list[tuple[float, float]]) -> None:
    assert geodesic_area_m2(shapely.Polygon(SQUARE, [hole])) / ACRE_M2 == close(201.8029)


def test_it_uses_the_international_acre() -> None:
    # 4046.8564224 m², exact; the US survey acre, 4046.8726 m², is not the same.
    assert round(ACRE_M2, 7) == 4046.8564224


def test_it_turns_rings_wound_the_other_way_instead_of_refusing_them() -> None:
    # RFC 7946, 3.1.6: exteriors counter-clockwise and holes clockwise on output; input may be wound otherwise.
    stored = normalise(shapely.Polygon(SQUARE[::-1], [HOLE[::-1]]))
    assert stored.exterior.is_ccw
    assert not stored.interiors[0].is_ccw


def test_it_writes_closed_rings_exterior_first() -> None:
    # RFC 7946, 3.1.6: first and last position identical, four or more positions, the exterior ring first.
    rings = json.loads(to_geojson(shapely.Polygon(SQUARE, [HOLE])))["coordinates"]
    assert [ring[0] == ring[-1] and len(ring) >= 4 for ring in rings] == [True, True]
    assert min(position[0] for position in rings[0]) < min(position[0] for position in rings[1])
