"""CSV as people save it, read without the child process."""

import codecs
from typing import Any

import pytest

from orders.sites.geofiles.loading import Loaded, ReadRequest
from orders.sites.geofiles.records import FileRefused, Limits
from orders.sites.geofiles.tables import look_table, read_table

TABLE = "longitude,latitude,patch_code,notes\n-85.70,38.20,P1,près du pré\n"


def read(table: str | bytes, **how: Any) -> Loaded:
    data = table.encode() if isinstance(table, str) else table
    return read_table(data, ReadRequest("survey.csv", **how))


@pytest.mark.parametrize(
    "data",
    [
        TABLE.encode(),
        codecs.BOM_UTF8 + TABLE.encode(),
        TABLE.encode("cp1252"),
        TABLE.encode("utf-16"),
        TABLE.encode("utf-16-le"),
        TABLE.encode("utf-16-be"),
    ],
    ids=["utf-8", "utf-8 with mark", "cp1252", "utf-16", "utf-16-le without mark", "utf-16-be without mark"],
)
def test_it_knows_the_encoding(data: bytes) -> None:
    loaded = read(data)
    assert loaded.cells[0][2:] == ["P1", "près du pré"]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_it_knows_the_separator(separator: str) -> None:
    assert read(TABLE.replace(",", separator)).cells[0][2] == "P1"


def test_it_is_not_misled_by_separators_within_quotes() -> None:
    loaded = read('"a,b,c,d";longitude;latitude\n"1,2";-85;38\n')
    assert loaded.fields == ("a,b,c,d", "longitude", "latitude")


def test_it_gives_the_line_on_which_a_row_begins() -> None:
    loaded = read('lon,lat,notes\n-85,38,"two\nlines"\n\n-86,39,one\n')
    assert loaded.numbers == [1, 3]
    assert loaded.lines == [2, 5]


def test_it_leaves_out_blank_lines_and_nameless_columns() -> None:
    loaded = read("lon,lat,patch_code,,\n-85,38,P1,,\n,,,,\n")
    assert loaded.fields == ("lon", "lat", "patch_code")
    assert len(loaded.cells) == 1


def test_it_reads_well_known_text_in_wgs84() -> None:
    loaded = read('wkt,patch_code\n"POLYGON Z ((0 0 5,1 0 5,1 1 5,0 0 5))",P1\n')
    assert loaded.crs == "EPSG:4326"
    assert loaded.geometries[0].wkt == "POLYGON ((0 0, 1 0, 1 1, 0 0))"
    assert loaded.cells == [[None, "P1"]]


def test_it_reads_the_columns_that_the_mapping_names() -> None:
    loaded = read("E,N\n1200000,250000\n", longitude_column="E", latitude_column="n", crs="EPSG:2246")
    assert loaded.crs is None
    assert (loaded.geometries[0].x, loaded.geometries[0].y) == (1_200_000, 250_000)


def test_it_asks_for_the_coordinate_system_of_columns_under_other_names() -> None:
    assert read("shape\nPOINT (1 2)\n", wkt_column="shape").crs is None


def test_it_leaves_a_row_without_coordinates_without_a_location() -> None:
    loaded = read("lon,lat,patch_code\n,,P1\n")
    assert loaded.geometries[0] is None
    assert loaded.problems == {}


@pytest.mark.parametrize(
    ("table", "code"),
    [
        ("lon,lat,patch_code\n-85,north,P1\n", "geometry_unreadable"),
        ("lon,lat,patch_code\n-85,,P1\n", "geometry_unreadable"),
        ("lon,lat,patch_code\n-85,38,P1,over\n", "too_many_cells"),
        ('wkt,patch_code\n"POLYGON ((0 0, 1 0))",P1\n', "geometry_unreadable"),
        ('wkt,patch_code\n"POLYGON ((0 0, 1 0, 1 1, 0 1))",P1\n', "geometry_unreadable"),
    ],
)
def test_it_tells_what_is_wrong_with_a_row(table: str, code: str) -> None:
    assert [problem.code for problem in read(table).problems.values()] == [code]


@pytest.mark.parametrize(
    ("table", "code"),
    [
        ("patch_code\nP1\n", "no_geometry_column"),
        ("lon,patch_code\n-85,P1\n", "no_geometry_column"),
        ("lon,lat,lat\n-85,38,38\n", "duplicate_column"),
        ('lon,lat\n-85,38\n-85,"38\n', "unreadable"),
        ('lon,lat\n"-85"x,38\n', "unreadable"),
        ("lon,lat,a,b\n1,2,3,4\n", "too_many_fields"),
        ("lon,lat\n1,2\n3,4\n5,6\n", "too_many_features"),
        (b"lon,lat\n\x81\x8d,1\n", "unreadable"),
    ],
)
def test_it_refuses_tables_that_it_cannot_read(table: str | bytes, code: str) -> None:
    with pytest.raises(FileRefused) as refused:
        read(table, limits=Limits(fields=3, features=2))
    assert refused.value.code == code


def test_it_refuses_a_mapping_that_names_no_column_of_the_table() -> None:
    with pytest.raises(FileRefused) as refused:
        read(TABLE, wkt_column="SHAPE")
    assert (refused.value.code, refused.value.names[:2]) == ("no_geometry_column", ("longitude", "latitude"))


def test_it_heeds_the_line_that_tells_the_separator() -> None:
    loaded = read("sep=;\r\nlon;lat;notes\r\n-85;38;1,2\r\n")
    assert (loaded.cells[0][2], loaded.numbers, loaded.lines) == ("1,2", [1], [3])


def test_it_reads_coordinates_with_a_decimal_comma() -> None:
    loaded = read("lon;lat;patch_code\n-85,7;38,2;3,4\n", decimal_comma=True)
    assert (loaded.geometries[0].x, loaded.geometries[0].y, loaded.cells[0][2]) == (-85.7, 38.2, "3,4")
    outline = read('wkt;patch_code\n"POINT (-85.7 38.2)";3,4\n', decimal_comma=True)
    assert outline.geometries[0].wkt == "POINT (-85.7 38.2)"


def test_it_reads_degrees_minutes_and_seconds() -> None:
    loaded = read('lon,lat,patch_code\n"85°41\'3""W",38 12.575 N,P1\n')
    assert (loaded.geometries[0].x, loaded.geometries[0].y) == pytest.approx((-85.6841667, 38.2095833), abs=1e-7)
    assert loaded.cells[0][0] == "85°41'3\"W"


def test_it_reads_both_coordinates_of_one_column() -> None:
    ours = read('latitude_longitude,patch_code\n"38.2, -85.7",P1\n,P2\n')
    assert (ours.crs, ours.geometries[0].wkt, ours.geometries[1]) == ("EPSG:4326", "POINT (-85.7 38.2)", None)
    theirs = read('at\n"-85.7, 38.2"\n', pair_field="longitude_latitude", pair_column="AT", crs="EPSG:4269")
    assert (theirs.crs, theirs.geometries[0].wkt) == (None, "POINT (-85.7 38.2)")


def test_it_names_the_column_of_a_coordinate_that_it_cannot_read() -> None:
    loaded = read(
        "East,North\n85 41 W,38 60 N\n38 12 N,38 12\n85 41 W,\n", longitude_column="East", latitude_column="North"
    )
    assert [(problem.field, problem.reason) for problem in loaded.problems.values()] == [
        ("latitude", "The latitude in column North cannot be read: “38 60 N” has 60 minutes; they are less than 60."),
        (
            "longitude",
            "The longitude in column East cannot be read: "
            "“38 12 N” is a latitude (N), and its column holds the longitude.",
        ),
        ("latitude", "The latitude in column North cannot be read: it is blank."),
    ]


def test_it_tells_both_coordinates_where_both_are_wrong() -> None:
    (problem,) = read("lon,lat\nwest,north\n").problems.values()
    assert ("column lon" in problem.reason, "column lat" in problem.reason) == (True, True)


@pytest.mark.parametrize("crs", ["EPSG:26916", "EPSG:2246"])
def test_it_takes_no_degrees_for_meters(crs: str) -> None:
    loaded = read("E,N\n85 41 W,38 12 N\n613234,4229876\n", longitude_column="E", latitude_column="N", crs=crs)
    assert list(loaded.problems) == [0]
    assert loaded.geometries[1].x == 613234


def test_it_says_what_is_wrong_with_an_outline_that_names_its_own_system() -> None:
    (problem,) = read("wkt\nSRID=4326;POINT (1 2)\n").problems.values()
    assert (problem.code, "SRID" in problem.reason) == ("geometry_unreadable", True)


def test_it_does_not_take_a_title_for_the_heading() -> None:
    with pytest.raises(FileRefused) as refused:
        look_table(b"Survey of May,,\n,,\nlon,lat,notes\n-85,38,x\n", ReadRequest("survey.csv"))
    assert refused.value.code == "heading_missing"
    assert "names 1 column, but most rows have more" in refused.value.message
