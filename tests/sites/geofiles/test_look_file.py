"""What is in a file whose columns nobody knows yet."""

import json
from dataclasses import asdict

import pytest
import shapely

from orders.sites.geofiles.looking import Found
from orders.sites.geofiles.reading import look_file
from orders.sites.geofiles.records import FileRefused
from tests.sites.files.made import ONE_BAD, TABLE, TWO, geopackage_layers, theirs


def test_it_tells_rows_columns_and_where_they_lie():
    found = look_file(TWO, "theirs.geojson")
    assert (found.format, found.rows, found.crs, found.shapes) == ("GeoJSON", 2, "EPSG:4326", (("Polygon", 2),))
    assert found.fields[:3] == ("PROPERTY", "POLY_ID", "SEEN")
    assert found.box is not None
    assert found.box[0] < -85.699 < found.box[2]


def test_it_tells_kinds_and_ways_of_writing_days():
    found = look_file(TWO, "theirs.geojson")
    kinds = {column.name: column.kind for column in found.columns}
    assert (kinds["SEEN"], kinds["PCT_COV"], kinds["HABIT"]) == ("day", "number", "text")
    seen = found.column("SEEN")
    assert seen is not None
    assert seen.day_formats == ("%m/%d/%Y",)


def test_it_leaves_open_which_of_two_ways_a_day_is_written():
    seen = look_file(theirs({"SEEN": "05/06/2026"}), "theirs.geojson").column("SEEN")
    assert seen is not None
    assert set(seen.day_formats) == {"%m/%d/%Y", "%d/%m/%Y"}


def test_it_counts_words_and_blanks():
    found = look_file(theirs({}, {"HABIT": "VINE"}, {"HABIT": ""}), "theirs.geojson").column("HABIT")
    assert found is not None
    assert (found.values, found.blank, found.is_listed) == ((("MAT", 1), ("VINE", 1)), 1, True)


def test_it_does_not_list_the_words_of_a_long_column():
    rows = [{"POLY_ID": f"P{number}"} for number in range(61)]
    found = look_file(theirs(*rows), "theirs.geojson").column("POLY_ID")
    assert found is not None
    assert (found.distinct, found.is_listed, len(found.values)) == (61, False, 5)


def test_it_looks_into_a_table_without_knowing_its_location():
    found = look_file(TABLE, "table.csv")
    assert (found.is_table, found.crs, found.box) == (True, "", None)
    assert found.first[0][:3] == ("7", "-85.69925", "38.20075")


def test_it_looks_into_the_fullest_layer_and_names_the_others():
    data = geopackage_layers(few=1, many=3)
    found = look_file(data, "two.gpkg")
    assert (found.layer, found.rows, dict(found.layers)) == ("many", 3, {"few": 1, "many": 3})
    assert look_file(data, "two.gpkg", layer="few").rows == 1


def test_it_says_that_a_coordinate_system_is_missing():
    found = look_file(geopackage_layers(crs=None, one=1), "none.gpkg")
    assert (found.crs, found.box) == ("", None)
    assert "does not name its coordinate system" in found.crs_trouble
    assert look_file(geopackage_layers(crs=None, one=1), "none.gpkg", crs="EPSG:4326").crs == "EPSG:4326"


def test_it_is_the_same_after_it_was_kept_as_json():

    found = look_file(ONE_BAD, "theirs.geojson")
    assert Found.of(json.loads(json.dumps(asdict(found)))) == found


def test_it_refuses_what_is_no_survey():
    with pytest.raises(FileRefused, match="format of this file is not known"):
        look_file(b"%PDF-1.7", "plan.pdf")
    with pytest.raises(FileRefused, match="holds no rows"):
        look_file(b'{"type": "FeatureCollection", "features": []}', "none.geojson")


def test_it_takes_no_shape_for_lines_that_are_walked():
    track = shapely.LineString([(-85.7, 38.2), (-85.699, 38.2), (-85.699, 38.201)])
    assert look_file(theirs({"geometry": track}), "track.geojson").is_lines
    assert not look_file(TWO, "theirs.geojson").is_lines
