"""Where a row says its patch lies, and what is wrong with that."""

from dataclasses import replace
from typing import Any

import pytest
import shapely

from orders.sites.geofiles.areas import Bounds
from orders.sites.geofiles.records import KnownSite
from tests.sites.geofiles.made import KNOWN, SMALL, SQUARE, check, damaged, found, warned

BOW_TIE = shapely.Polygon([(-85.70, 38.20), (-85.69, 38.21), (-85.69, 38.20), (-85.70, 38.21)])
LINE = shapely.LineString([(-85.70, 38.20), (-85.69, 38.21)])
SPIKE = shapely.Polygon([(-85.70, 38.20), (-85.69, 38.20), (-85.70, 38.20)])
OVERLAPPING = shapely.MultiPolygon([SQUARE, shapely.box(-85.695, 38.205, -85.685, 38.215)])
HOLE_OUTSIDE = shapely.Polygon(SQUARE.exterior, [shapely.box(-85.66, 38.20, -85.65, 38.21).exterior])
OVER_DATE_LINE = shapely.Polygon([(179.9, 51.9), (-179.9, 51.9), (-179.9, 52.0), (179.9, 52.0)])


def exchanged(geometry: Any) -> Any:
    return shapely.transform(geometry, lambda east, north: (north, east), interleaved=False)


@pytest.mark.parametrize(
    ("geometry", "code"),
    [
        (None, "geometry_missing"),
        (shapely.Polygon(), "geometry_empty"),
        (shapely.Point(), "geometry_empty"),
        (LINE, "line_geometry"),
        (shapely.MultiLineString([LINE]), "line_geometry"),
        (shapely.MultiPoint([(-85.70, 38.20), (-85.69, 38.20)]), "several_points"),
        (shapely.GeometryCollection([SQUARE, LINE]), "geometry_mixed"),
        (BOW_TIE, "self_crossing"),
        (OVERLAPPING, "self_crossing"),
        (HOLE_OUTSIDE, "outline_invalid"),
        (SPIKE, "outline_invalid"),
        (shapely.Point(613_000, 4_228_000), "coordinates_out_of_range"),
        (shapely.Point(-185, 38), "coordinates_out_of_range"),
        (OVER_DATE_LINE, "crosses_date_line"),
        (exchanged(SQUARE), "longitude_latitude_swapped"),
        (shapely.Point(38.2, -95.7), "longitude_latitude_swapped"),
        (shapely.Point(0, 0), "location_implausible"),
    ],
)
def test_it_refuses_a_location(geometry: Any, code: str) -> None:
    checked = check({"gross_area_m2": 50}, geometry=geometry)
    assert found(checked) == [(1, "geometry", code)]
    assert checked.rows == ()


def test_it_says_where_an_outline_crosses_itself() -> None:
    reason = check({}, geometry=BOW_TIE).errors[0].reason
    assert "longitude -85.695000, latitude 38.205000" in reason


def test_it_says_that_longitude_and_latitude_changed_places() -> None:
    reason = check({}, geometry=exchanged(SQUARE)).errors[0].reason
    assert "exchanged it lies at site MILL" in reason


def test_it_tells_a_swap_at_a_site_of_unknown_place_by_what_is_plausible() -> None:
    checked = check({"site_code": "FARM"}, geometry=exchanged(SQUARE))
    assert "exchanged it lies where this program works" in checked.errors[0].reason


def test_it_tells_a_swap_where_both_orders_are_plausible_by_the_site() -> None:
    sites = {"MILL": KnownSite(bounds=Bounds(20.0, 50.0, 20.1, 50.1))}
    known = replace(KNOWN, sites=sites, plausible=Bounds(-180, -90, 180, 90))
    home, swapped, elsewhere = shapely.Point(20.05, 50.05), shapely.Point(50.05, 20.05), shapely.Point(60, 30)
    codes = [found(check({"gross_area_m2": 5}, known=known, geometry=point)) for point in (home, swapped, elsewhere)]
    assert codes == [[], [(1, "geometry", "longitude_latitude_swapped")], []]


def test_it_hands_on_what_the_reader_found_wrong() -> None:
    assert found(check({"geometry": None, "problem": damaged()})) == [(1, "geometry", "geometry_unreadable")]


def test_it_asks_a_point_for_its_area() -> None:
    point = shapely.Point(-85.70, 38.20)
    assert found(check({}, geometry=point)) == [(1, "gross_area_m2", "area_missing")]
    assert found(check({"gross_area_m2": 0}, geometry=point)) == [(1, "gross_area_m2", "area_missing")]
    assert check({"gross_area_m2": 120}, geometry=point).rows[0].area_m2 == 120


def test_it_takes_a_lone_point_of_a_multipoint() -> None:
    lone = shapely.MultiPoint([(-85.70, 38.20)])
    assert check({"gross_area_m2": 9}, geometry=lone).rows[0].geometry.geom_type == "Point"


def test_it_measures_an_outline_itself_and_mentions_another_figure() -> None:
    checked = check({"gross_area_m2": 800_000})
    assert checked.rows[0].area_m2 == pytest.approx(972_223.24, rel=1e-4)
    assert warned(checked) == [(1, "gross_area_m2", "area_differs")]
    assert warned(check({"gross_area_m2": 970_000})) == []


def test_it_takes_rings_wound_either_way_multipolygons_and_holes() -> None:
    holed = shapely.Polygon(SQUARE.exterior.coords[::-1], [SMALL.exterior])
    both = shapely.MultiPolygon([holed, shapely.box(-85.685, 38.20, -85.680, 38.21)])
    survey = check({}, geometry=both).rows[0]
    assert [part.exterior.is_ccw for part in survey.geometry.geoms] == [True, True]
    assert survey.geometry.equals(both)


def test_it_warns_of_a_patch_outside_its_site() -> None:
    checked = check({}, geometry=shapely.box(-85.60, 38.20, -85.59, 38.21))
    assert warned(checked) == [(1, "geometry", "outside_site")]
    assert len(checked.rows) == 1


def test_it_prefers_the_boundary_of_a_site_to_its_box() -> None:
    corner = shapely.Polygon([(-85.71, 38.19), (-85.68, 38.19), (-85.68, 38.22)])
    known = replace(KNOWN, sites={"MILL": KnownSite(boundary=corner)})
    off = shapely.box(-85.709, 38.215, -85.708, 38.216)
    assert warned(check({}, known=known, geometry=off)) == [(1, "geometry", "outside_site")]
    assert warned(check({}, known=known, geometry=SMALL)) == []
