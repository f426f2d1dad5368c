"""Files of every format, read through the child process."""

import json
from typing import Any

import pytest
import shapely

from orders.sites.geofiles.areas import geodesic_area_m2
from orders.sites.geofiles.checks import check_rows
from orders.sites.geofiles.mapping import IDENTITY, mapping_from_document
from orders.sites.geofiles.reading import read_file
from orders.sites.geofiles.records import FileRefused, RawFile
from tests.sites.geofiles.made import (
    GOOD,
    KNOWN,
    SMALL,
    SQUARE,
    TODAY,
    geojson,
    gpx,
    shapefile,
    written,
    zipped,
)

WALK = (
    "<trk><name>P7</name>"
    '<trkseg><trkpt lat="38.20" lon="-85.70"/><trkpt lat="38.20" lon="-85.69"/></trkseg>'
    '<trkseg><trkpt lat="38.21" lon="-85.69"/><trkpt lat="38.21" lon="-85.70"/></trkseg></trk>'
)
WAYPOINT = '<wpt lat="38.2" lon="-85.7"><name>P8</name></wpt>'


def surveys_in(raw: RawFile) -> Any:
    checked = check_rows(raw, IDENTITY, KNOWN, TODAY)
    assert checked.errors == ()
    return checked.rows


def problems_in(raw: RawFile) -> list[str | None]:
    return [row.problem.code if row.problem else None for row in raw.rows]


def shape_in(raw: RawFile) -> Any:
    return raw.rows[0].geometry


@pytest.mark.parametrize(
    ("driver", "named", "layer"),
    [
        ("GPKG", "GeoPackage", "patches"),
        ("GeoJSON", "GeoJSON", None),
        ("FlatGeobuf", "FlatGeobuf", None),
        ("LIBKML", "KML", "patches"),
    ],
)
def test_it_reads_the_same_survey_from_each_format(driver: str, named: str, layer: str | None) -> None:
    raw = read_file(written(driver), f"survey.{driver}")
    survey = surveys_in(raw)[0]
    assert (raw.format, raw.layer, raw.crs) == (named, layer, "EPSG:4326")
    assert survey.fingerprint() == surveys_in(read_file(geojson(SQUARE), "same.geojson"))[0].fingerprint()


@pytest.mark.parametrize(
    ("crs", "off_m"),
    [
        ("EPSG:26916", 0.02),  # UTM zone 16, metres
        ("EPSG:2246", 0.02),  # a state plane in US survey feet
        ("EPSG:3857", 0.02),  # Web Mercator
        ("EPSG:4267", 0.02),  # NAD 27, degrees on another datum: some metres from the same degrees on WGS 84
    ],
)
def test_it_brings_each_coordinate_system_to_wgs84(crs: str, off_m: float) -> None:
    raw = read_file(written("GPKG", crs=crs), "survey.gpkg")
    assert raw.crs == crs
    assert shape_in(raw).hausdorff_distance(SQUARE) * 111_320 < off_m
    assert geodesic_area_m2(shape_in(raw)) == pytest.approx(972_223.24, rel=1e-4)


def test_it_tells_how_well_a_change_of_datum_is_known() -> None:
    raw = read_file(written("GPKG", crs="EPSG:4267"), "survey.gpkg")
    checked = check_rows(raw, IDENTITY, KNOWN, TODAY)
    assert raw.position_error_m is not None
    assert raw.position_error_m >= 1
    assert "position_uncertain" in [warning.code for warning in checked.warnings]


def test_it_reads_a_zipped_shapefile_with_field_names_of_its_own(tmp_path: Any) -> None:
    data = shapefile(tmp_path, "weeds", crs="EPSG:2246", columns={"POLY_ID": ["A1"], "COV": [35.0]})
    raw = read_file(data, "weeds.zip")
    assert (raw.format, raw.layer, raw.crs) == ("zipped Shapefile", "weeds", "EPSG:2246")
    assert raw.fields == ("POLY_ID", "COV")
    assert raw.rows[0].attributes == {"POLY_ID": "A1", "COV": 35.0}


def test_it_reads_a_shapefile_zipped_with_its_folder(tmp_path: Any) -> None:
    raw = read_file(shapefile(tmp_path, folder="survey/"), "patches.zip")
    assert (raw.layer, len(raw.rows)) == ("survey/patches", 1)


def test_it_reads_the_shapefile_that_was_named_of_several(tmp_path: Any) -> None:
    data = shapefile(tmp_path, "north", "south")
    assert read_file(data, "both.zip", layer="south").layer == "south"


def test_it_takes_the_layer_of_the_mapping() -> None:
    data = written("LIBKML", layer="east_side")
    assert read_file(data, "x.kml", mapping=mapping_from_document({"layer": "east_side"})).layer == "east_side"


def test_it_reads_the_main_document_of_a_kmz() -> None:
    data = zipped(doc__kml=written("LIBKML"), **{"files/photo__jpg": b"not looked at"})
    raw = read_file(data, "survey.kmz")
    assert raw.format == "KMZ"
    assert raw.rows[0].attributes["patch_code"] == "P1"


def test_it_reads_the_layers_that_a_kmz_keeps_in_documents_of_their_own() -> None:
    main = b'<kml xmlns="http://www.opengis.net/kml/2.2"><Document><name>links only</name></Document></kml>'
    layers = {"layers/n__kml": written("LIBKML", layer="north"), "layers/s__kml": written("LIBKML", layer="south")}
    raw = read_file(zipped(doc__kml=main, **layers), "survey.kmz", layer="south")
    assert (raw.layer, len(raw.rows)) == ("south", 1)


def test_it_loses_no_layer_of_a_kmz_where_two_have_the_same_name() -> None:
    same = {f"{stem}__kml": written("LIBKML", columns={"patch_code": [stem]}) for stem in ("a", "b")}
    with pytest.raises(FileRefused) as refused:
        read_file(zipped(**same), "survey.kmz")
    assert refused.value.names == ("patches", "patches (2)")
    raw = read_file(zipped(**same), "survey.kmz", layer="patches (2)")
    assert (raw.layer, raw.rows[0].attributes["patch_code"]) == ("patches (2)", "b")


def test_it_gives_a_layer_without_a_name_one() -> None:
    point = "<Placemark><Point><coordinates>-85.7,38.2</coordinates></Point></Placemark>"
    raw = read_file(f'<kml xmlns="http://www.opengis.net/kml/2.2">{point}</kml>'.encode(), "survey.kml")
    assert raw.layer == "layer 1"


def test_it_reads_waypoints_of_gpx() -> None:
    raw = read_file(gpx(WAYPOINT), "walk.gpx")
    assert (raw.layer, shape_in(raw).geom_type) == ("waypoints", "Point")
    assert raw.rows[0].attributes["name"] == "P8"


def test_it_closes_walked_tracks_to_outlines_when_asked() -> None:
    constants = {name: {"constant": value} for name, value in GOOD.items() if name != "patch_code"}
    mapping = mapping_from_document({"close_tracks": True, "columns": {**constants, "patch_code": "name"}})
    raw = read_file(gpx(WAYPOINT + WALK), "walk.gpx", mapping=mapping)
    survey = check_rows(raw, mapping, KNOWN, TODAY).rows[0]
    assert (raw.layer, survey.patch_code) == ("tracks", "P7")
    assert survey.geometry.equals(SQUARE)


def test_it_takes_the_mapping_for_a_file_without_a_coordinate_system(tmp_path: Any) -> None:
    data = shapefile(tmp_path, without=(".prj",), crs="EPSG:26916")
    raw = read_file(data, "patches.zip", mapping=mapping_from_document({"crs": "EPSG:26916"}))
    assert raw.crs == "EPSG:26916"
    assert shape_in(raw).hausdorff_distance(SQUARE) < 1e-6


def test_it_takes_the_mapping_for_projected_geojson() -> None:
    shifted = {"type": "Point", "coordinates": [613_000.0, 4_228_000.0]}
    raw = read_file(geojson(shifted), "x.geojson", mapping=mapping_from_document({"crs": "EPSG:26916"}))
    assert shape_in(raw).x == pytest.approx(-85.7, abs=0.05)


def test_it_heeds_the_coordinate_system_that_older_geojson_names() -> None:
    old = json.loads(geojson({"type": "Point", "coordinates": [613_000.0, 4_228_000.0]}))
    old["crs"] = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::26916"}}
    raw = read_file(json.dumps(old).encode(), "x.geojson")
    assert raw.crs == "EPSG:26916"
    assert shape_in(raw).y == pytest.approx(38.2, abs=0.05)


def test_it_drops_heights_and_keeps_features_without_a_location() -> None:
    high = {"type": "Point", "coordinates": [-85.7, 38.2, 140.0]}
    raw = read_file(geojson(high, None), "x.geojson")
    assert [row.number for row in raw.rows] == [1, 2]
    assert not shape_in(raw).has_z
    assert raw.rows[1].geometry is None


def test_it_names_the_row_whose_ring_does_not_close() -> None:
    open_ring = {"type": "Polygon", "coordinates": [[[-85.7, 38.2], [-85.6, 38.2], [-85.6, 38.3], [-85.7, 38.3]]]}
    raw = read_file(geojson(SQUARE, open_ring), "x.geojson")
    assert problems_in(raw) == [None, "geometry_unreadable"]


def test_it_names_the_rows_whose_coordinates_are_no_numbers() -> None:
    table = "wkt,patch_code\n" + '"POLYGON ((0 0, 1 nan, 1 1, 0 0))",P1\n"POINT (1 2)",P2\n"POINT (1e400 2)",P3\n'
    problems = problems_in(read_file(table.encode(), "survey.csv"))
    assert problems == ["coordinates_unreadable", None, "coordinates_unreadable"]


def test_it_names_the_rows_that_lie_off_the_edge_of_their_coordinate_system() -> None:
    beyond = {"type": "Point", "coordinates": [1e12, 1e12]}
    raw = read_file(geojson(beyond), "x.geojson", mapping=mapping_from_document({"crs": "EPSG:26916"}))
    assert problems_in(raw) == ["coordinates_unreadable"]


def test_it_keeps_multipolygons_and_holes() -> None:
    holed = shapely.Polygon(SQUARE.exterior, [SMALL.exterior])
    both = shapely.MultiPolygon([holed, shapely.box(-85.66, 38.2, -85.65, 38.21)])
    assert shape_in(read_file(written("GPKG", [both]), "x.gpkg")).equals(both)


def test_it_reads_csv_in_the_child_too() -> None:
    table = "wkt;patch_code\n" + f'"{SQUARE.wkt}";P1\n'
    raw = read_file(table.encode("utf-16"), "survey.csv")
    assert (raw.format, raw.crs, raw.rows[0].line) == ("CSV", "EPSG:4326", 2)
    assert shape_in(raw).equals(SQUARE)
