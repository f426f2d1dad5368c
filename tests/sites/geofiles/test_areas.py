import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from orders.sites.geofiles.areas import (
    bounds,
    canonical_wkb,
    distance_m,
    from_geojson,
    from_wkb,
    geodesic_area_m2,
    normalise,
    representative_point,
    to_geojson,
    to_wkb,
)
from tests.sites.geofiles.made import SQUARE

HOLE = [(-85.697, 38.203), (-85.693, 38.203), (-85.693, 38.207), (-85.697, 38.207)]
OUTER = list(SQUARE.exterior.coords)


@st.composite
def star_outlines(draw: st.DrawFn) -> shapely.Polygon:
    """Outlines round a middle that never cross themselves: angles rise, distances vary."""
    corners = draw(st.integers(3, 12))
    reach_deg = draw(st.lists(st.floats(0.001, 0.02), min_size=corners, max_size=corners))
    middle = (draw(st.floats(-120, -70)), draw(st.floats(25, 50)))
    angles = [2 * math.pi * corner / corners for corner in range(corners)]
    return shapely.Polygon(
        [
            (middle[0] + far * math.cos(angle), middle[1] + far * math.sin(angle))
            for far, angle in zip(reach_deg, angles, strict=True)
        ]
    )


@settings(deadline=None)  # a busy machine is no failure
@given(star_outlines())
def test_it_gives_one_area_whichever_way_the_ring_is_wound(outline: shapely.Polygon) -> None:
    assert geodesic_area_m2(outline.reverse()) == pytest.approx(geodesic_area_m2(outline), rel=1e-12)


@settings(deadline=None)  # a busy machine is no failure
@given(star_outlines())
def test_it_keeps_the_outline_through_both_stored_forms(outline: shapely.Polygon) -> None:
    stored = normalise(outline)
    assert from_wkb(to_wkb(outline)).equals_exact(stored)
    assert from_geojson(to_geojson(outline)).equals_exact(stored)


@settings(deadline=None)  # a busy machine is no failure
@given(star_outlines())
def test_it_normalises_what_is_normal_to_itself(outline: shapely.Polygon) -> None:
    stored = normalise(outline)
    assert normalise(stored).equals_exact(stored)
    assert stored.exterior.is_ccw
    assert geodesic_area_m2(stored) == pytest.approx(geodesic_area_m2(outline), rel=1e-3)


@settings(deadline=None)  # a busy machine is no failure
@given(star_outlines(), st.integers(0, 11))
def test_it_compares_outlines_without_regard_to_where_they_start(outline: shapely.Polygon, turn: int) -> None:
    corners = list(outline.exterior.coords)[:-1]
    turn %= len(corners)
    assert canonical_wkb(shapely.Polygon(corners[turn:] + corners[:turn])) == canonical_wkb(outline)


@pytest.mark.parametrize("hole", [HOLE, HOLE[::-1]])
@pytest.mark.parametrize("outer", [OUTER, OUTER[::-1]])
def test_it_cuts_a_hole_out_however_the_rings_are_wound(outer: list[Any], hole: list[Any]) -> None:
    whole, cut = geodesic_area_m2(SQUARE), geodesic_area_m2(shapely.Polygon(HOLE))
    assert geodesic_area_m2(shapely.Polygon(outer, [hole])) == pytest.approx(whole - cut, abs=0.01)


def test_it_winds_holes_clockwise() -> None:
    stored = normalise(shapely.Polygon(OUTER[::-1], [HOLE]))
    assert stored.exterior.is_ccw
    assert not stored.interiors[0].is_ccw


def test_it_adds_the_parts_of_a_multipolygon() -> None:
    other = shapely.box(-85.60, 38.20, -85.59, 38.21)
    both = shapely.MultiPolygon([SQUARE.reverse(), other])
    assert geodesic_area_m2(both) == pytest.approx(geodesic_area_m2(SQUARE) + geodesic_area_m2(other))


def test_it_drops_heights_and_rounds_to_7_decimals() -> None:
    stored = normalise(shapely.Point(-85.123456789, 38.987654321, 140.0))
    assert not stored.has_z
    assert (stored.x, stored.y) == (-85.1234568, 38.9876543)


def test_it_finds_no_area_in_points_and_lines() -> None:
    assert geodesic_area_m2(shapely.Point(0, 0)) == 0
    assert geodesic_area_m2(shapely.LineString([(0, 0), (1, 1)])) == 0


def test_it_finds_a_point_within_a_bent_outline() -> None:
    bent = shapely.Polygon([(0, 0), (4, 0), (4, 4), (3, 4), (3, 1), (1, 1), (1, 4), (0, 4)])
    assert not bent.contains(bent.centroid)
    assert bent.contains(shapely.Point(representative_point(bent)))


def test_it_boxes_an_outline() -> None:
    box = bounds(SQUARE)
    assert (box.west, box.south, box.east, box.north) == (-85.70, 38.20, -85.69, 38.21)


def test_it_measures_a_degree_of_the_equator() -> None:
    # On the equator the ellipsoid is a circle of 6 378 137 m, the semi-major axis of WGS 84.
    assert distance_m((0, 0), (1, 0)) == pytest.approx(6_378_137 * np.pi / 180)
