"""Files that are refused, each with a code and with words for the person who sent it."""

import struct
import subprocess
import sys
from typing import Any

import pytest
import shapely

from orders.sites.geofiles.child import read
from orders.sites.geofiles.formats import DRIVERS
from orders.sites.geofiles.loading import ReadRequest
from orders.sites.geofiles.mapping import mapping_from_document
from orders.sites.geofiles.reading import PROJECT_ROOT, read_file
from orders.sites.geofiles.records import FileRefused, Limits
from tests.sites.geofiles.made import SMALL, SQUARE, geojson, gpx, shapefile, written, zipped

VRT = (
    b'<OGRVRTDataSource><OGRVRTLayer name="x"><SrcDataSource>elsewhere.gpkg</SrcDataSource></OGRVRTLayer>'
    b"</OGRVRTDataSource>"
)
PIPELINE_AS_GEOJSON = b'{"type":"gdal_streamed_alg","command_line":"read elsewhere.gpkg","x":{"type":"Point"}}'
PNG = b"\x89PNG\r\n\x1a\n" + bytes(100)


def refusal(data: bytes, filename: str = "survey", **given: Any) -> FileRefused:
    with pytest.raises(FileRefused) as refused:
        read_file(data, filename, **given)
    assert "Traceback" not in refused.value.message
    assert "/vsi" not in refused.value.message
    return refused.value


@pytest.mark.parametrize(
    ("data", "code"),
    [
        pytest.param(b" \n", "empty_file", id="blank"),
        pytest.param(PNG, "unknown_format", id="a picture"),
        pytest.param(b"SQLite format 3\x00" + bytes(200), "unknown_format", id="a database of another kind"),
        pytest.param(struct.pack(">i", 9994) + bytes(96), "unknown_format", id="a lone .shp"),
        pytest.param(b"{}", "unknown_format", id="JSON of another kind"),
        pytest.param(VRT, "unknown_format", id="a file that points to another"),
        pytest.param(b"<!DOCTYPE kml [<!ENTITY a 'b'>]><kml>&a;</kml>", "unreadable", id="XML with entities"),
        pytest.param(b"PK\x03\x04" + bytes(40), "unreadable", id="a zip cut short"),
    ],
)
def test_it_refuses_at_sight(data: bytes, code: str) -> None:
    with pytest.raises(FileRefused) as refused:
        read(data, ReadRequest("survey"))
    assert refused.value.code == code


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(b"<!-- <gpx > -->" + VRT, id="a file that points to another, dressed up as GPX"),
        pytest.param(PIPELINE_AS_GEOJSON, id="a pipeline, dressed up as GeoJSON"),
        pytest.param(written("GPKG")[:9000], id="half a GeoPackage"),
        pytest.param(written("FlatGeobuf")[:200], id="half a FlatGeobuf"),
        pytest.param(geojson(SQUARE)[:-40], id="GeoJSON cut short"),
        pytest.param(gpx("<wpt lat='1' lon='2'>"), id="GPX that is not XML"),
    ],
)
def test_it_refuses_what_it_cannot_open(data: bytes) -> None:
    assert refusal(data).code == "unreadable"


def test_it_refuses_one_format_dressed_up_as_another() -> None:
    waypoint = gpx('<wpt lat="38.2" lon="-85.7"/>')
    assert "looks like KML, but is something else" in refusal(waypoint.replace(b"?>", b"?><!-- <kml > -->")).message


@pytest.mark.parametrize(("data", "code"), [(geojson(), "empty_file"), (gpx(""), "no_layer")])
def test_it_refuses_a_file_with_nothing_in_it(data: bytes, code: str) -> None:
    assert refusal(data).code == code


def test_it_leaves_the_geographic_library_no_drivers_but_ours() -> None:
    ask = "from orders.sites.geofiles.vectors import gdal; print(*sorted(gdal().list_drivers()), sep=',')"
    answer = subprocess.run([sys.executable, "-c", ask], capture_output=True, cwd=PROJECT_ROOT, check=True, text=True)
    assert set(answer.stdout.strip().split(",")) == set(DRIVERS.values())


@pytest.mark.parametrize(
    ("limits", "code"),
    [
        (Limits(features=1), "too_many_features"),
        (Limits(vertices=1), "too_many_vertices"),
        (Limits(fields=2), "too_many_fields"),
        (Limits(cell_characters=5), "cell_too_long"),
    ],
)
def test_it_holds_the_limits_on_what_a_file_holds(limits: Limits, code: str) -> None:
    table = b"lon,lat,notes\n-85.70,38.20,by the gate\n-85.69,38.20,\n"
    with pytest.raises(FileRefused) as refused:
        read(table, ReadRequest("survey.csv", limits))
    assert refused.value.code == code


def test_it_holds_the_limits_for_geographic_formats_too() -> None:
    assert refusal(geojson(SQUARE, SMALL), limits=Limits(features=1)).code == "too_many_features"
    assert refusal(geojson(SQUARE, SMALL), limits=Limits(vertices=9)).code == "too_many_vertices"


def test_it_does_not_look_into_a_file_that_is_too_large() -> None:
    assert refusal(bytes(101), limits=Limits(file_bytes=100)).code == "too_large"


def test_it_ends_a_child_that_takes_too_long() -> None:
    assert refusal(geojson(SQUARE), limits=Limits(wall_seconds=0.01)).code == "timed_out"


def test_it_ends_a_child_that_uses_too_much_processor_time() -> None:
    assert refusal(geojson(SQUARE), limits=Limits(cpu_seconds=0)).code == "timed_out"


def test_it_ends_a_child_that_uses_too_much_memory() -> None:
    table = b"lon,lat,patch_code\n" + b"-85.7,38.2,P1\n" * 400_000
    starved = Limits(memory_bytes=200 * 1024**2, features=1_000_000, cpu_seconds=30)
    # About one time in a thousand Python spins where it has no memory left to handle the error; the clock ends it then.
    assert refusal(table, "survey.csv", limits=starved).code in {"out_of_memory", "timed_out"}


def test_it_names_the_layers_where_there_are_several(tmp_path: Any) -> None:
    refused = refusal(shapefile(tmp_path, "north", "south"))
    assert (refused.code, sorted(refused.names)) == ("several_layers", ["north", "south"])
    assert "north" in refused.message


def test_it_asks_which_of_waypoints_and_tracks() -> None:
    point = '<trkpt lat="1" lon="2"/>'
    refused = refusal(gpx(f'<wpt lat="1" lon="2"/><trk><trkseg>{point}{point}</trkseg></trk>'))
    assert (refused.code, refused.names) == ("several_layers", ("waypoints", "tracks"))


def test_it_says_which_layers_there_are_where_the_one_asked_for_is_not() -> None:
    refused = refusal(written("GPKG"), layer="weeds")
    assert (refused.code, refused.names) == ("unknown_layer", ("patches",))


def test_it_refuses_a_file_that_does_not_name_its_coordinate_system(tmp_path: Any) -> None:
    assert refusal(shapefile(tmp_path, without=(".prj",))).code == "no_coordinate_system"


@pytest.mark.parametrize(
    ("data", "crs", "code"),
    [
        (written("GPKG", crs="EPSG:26916"), "EPSG:2246", "coordinate_system_conflict"),
        (written("LIBKML"), "EPSG:2246", "coordinate_system_conflict"),
        (geojson(SQUARE), "EPSG:999999", "unusable_coordinate_system"),
        (geojson(SQUARE), 'LOCAL_CS["the back field",UNIT["metre",1]]', "unusable_coordinate_system"),
    ],
)
def test_it_refuses_a_mapping_whose_coordinate_system_cannot_be(data: bytes, crs: str, code: str) -> None:
    assert refusal(data, mapping=mapping_from_document({"crs": crs})).code == code


def test_it_refuses_a_shapefile_that_lacks_a_part(tmp_path: Any) -> None:
    refused = refusal(shapefile(tmp_path, without=(".dbf",)))
    assert refused.code == "unreadable"
    assert ".dbf" in refused.message


def test_it_refuses_too_many_layers() -> None:
    folders = "".join(f"<Folder><name>f{number}</name></Folder>" for number in range(4))
    kml = f'<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{folders}</Document></kml>'.encode()
    assert refusal(kml, limits=Limits(layers=3)).code == "too_many_layers"


def test_it_refuses_a_zip_that_unpacks_to_too_much() -> None:
    bomb = zipped(doc__kml=bytes(5_000_000))
    assert len(bomb) < 10_000
    assert refusal(bomb, limits=Limits(unpacked_bytes=1_000_000)).code == "unpacked_too_large"


def test_it_reads_no_file_of_the_machine_by_its_name(tmp_path: Any) -> None:
    (tmp_path / "real.geojson").write_bytes(geojson(shapely.Point(0, 0)))
    assert refusal(b"?", str(tmp_path / "real.geojson")).code == "unknown_format"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (zipped(xl_workbook__xml=b"<workbook/>").replace(b"xl_workbook", b"xl/workbook"), "This is a spreadsheet."),
        (zipped(content__xml=b"<office/>"), "This is a spreadsheet."),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(500), "This is a spreadsheet."),
        (geojson(SQUARE)[:-2] + b"\n", "damaged"),
        (b'{"type":"Feature","geometry":null}\n{"type":"Feature","geometry":null}\n', "Every line of this file"),
    ],
)
def test_it_says_what_to_save_instead(data: bytes, words: str) -> None:
    assert words in refusal(data).message
