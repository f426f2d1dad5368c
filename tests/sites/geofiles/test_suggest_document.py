"""A first mapping for a file of unknown origin."""

from dataclasses import replace
from typing import Any

import pytest

from orders.sites.geofiles.looking import Found
from orders.sites.geofiles.mapping import mapping_from_document
from orders.sites.geofiles.matching import document_of, missing, renumbered, suggest_document
from orders.sites.geofiles.reading import look_file
from orders.sites.geofiles.records import KnownSite
from orders.sites.geofiles.vocabulary import PLACE
from tests.sites.files.made import TABLE, THEIRS, TWO, theirs
from tests.sites.geofiles.made import KNOWN, SQUARE

LOOKED: dict[tuple[bytes, str], Found] = {}


def looked(data: bytes, name: str = "theirs.geojson") -> Found:
    if (data, name) not in LOOKED:
        LOOKED[data, name] = look_file(data, name)
    return LOOKED[data, name]


def suggested(data: bytes, name: str = "theirs.geojson", known: Any = KNOWN) -> dict[str, Any]:
    return dict(suggest_document(looked(data, name), known))


def test_it_matches_by_name_and_by_what_is_in_the_columns():
    columns = suggested(TWO)["columns"]
    assert columns["site_code"] == "PROPERTY"
    assert columns["patch_code"] == "POLY_ID"
    assert columns["observed_on"] == {"column": "SEEN", "format": "%m/%d/%Y"}
    assert columns["species"] == "SCI_NAME"
    assert columns["growth_form"] == {"column": "HABIT", "values": {"MAT": "ground_cover"}}
    assert missing(columns) == []


def test_it_is_a_mapping_that_can_be_read():
    assert mapping_from_document(suggested(TWO)).row["observer"].column == "RECORDER"


def test_it_tells_the_unit_that_a_name_tells():
    assert suggested(TWO)["columns"]["gross_area_m2"] == {"column": "AREA_AC", "unit": "acres"}


@pytest.mark.parametrize("cover", ["50 - 75 %", "25-50%", "5 to 25", "<5%", "40%"])
def test_it_takes_a_column_of_cover_ranges(cover):
    assert suggested(theirs({"PCT_COV": cover}))["columns"]["cover_percent"] == "PCT_COV"


def test_it_takes_no_column_of_words_for_a_number():
    assert "cover_percent" not in suggested(theirs({"PCT_COV": "dense"}))["columns"]


def test_it_finds_a_site_under_another_name_of_its_column():
    columns = suggested(theirs({"PROPERTY": None, "WHERE_": "MILL"}))["columns"]
    assert columns["site_code"] == "WHERE_"


def test_it_puts_words_that_come_near_beside_ours():
    columns = suggested(theirs({"PROPERTY": "THE-MILL"}, {"PROPERTY": "MILLS"}))["columns"]
    assert columns["site_code"]["values"] == {"THE-MILL": "MILL", "MILLS": "MILL"}


def test_it_says_the_site_that_holds_the_file_where_no_column_does():
    known = replace(KNOWN, sites={"MILL": KnownSite(boundary=SQUARE), "FARM": KnownSite()})
    assert suggested(theirs({"PROPERTY": None}), known=known)["columns"]["site_code"] == {"constant": "MILL"}


def test_it_numbers_patches_that_no_column_names():
    columns = suggested(theirs({"POLY_ID": None}))["columns"]
    assert columns["patch_code"] == {"numbered": "NEW-"}


def test_it_knows_our_own_names_without_a_word_more():
    own = {"site_code": "MILL", "patch_code": "P1", "observed_on": "2026-05-01", "observer": "Ada Vole"}
    plant = {"species_1": "EUFO", "growth_form_1": "climbing", "cover_percent_1": 10}
    blank = dict.fromkeys(THEIRS)
    columns = suggested(theirs({**blank, **own, **plant}))["columns"]
    assert {name: columns[name] for name in own} == {name: name for name in own}
    assert (columns["species"], missing(columns)) == ("species_1", [])


def test_it_says_where_the_degrees_of_a_table_count_from():
    document = suggested(TABLE, "table.csv")
    assert document["crs"] == "EPSG:4326"
    assert (document["columns"]["longitude"], document["columns"]["latitude"]) == ("East", "North")


def test_it_does_not_take_meters_for_degrees():
    table = TABLE.replace(b"-85.69925", b"613900.5").replace(b"38.20075", b"4229000")
    assert "crs" not in suggested(table, "meters.csv")


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ({"species_3": "A", "species_5": "B"}, {"species_1": "A", "species_2": "B"}),
        ({"species_3": "A"}, {"species": "A"}),
        (
            {"species_1": "A", "species_2": "B", "observer": "W", "fertile": "F"},
            {"observer": "W", "species_1": "A", "fertile_1": "F", "species_2": "B", "fertile_2": "F"},
        ),
    ],
)
def test_it_counts_plants_without_gaps(given, kept):
    assert renumbered(given) == kept


def test_it_is_the_same_mapping_after_it_was_read():
    document = {"crs": "EPSG:26916", "columns": {"site_code": {"constant": "MILL"}, "patch_code": {"numbered": "N"}}}
    assert document_of(mapping_from_document(document)) == document


def test_it_names_what_each_plant_lacks():
    columns = {"species_1": "A", "growth_form_1": "B", "cover_percent_1": "C", "species_2": "D"}
    assert missing(columns)[-2:] == ["growth_form_2", "cover_percent_2"]


def test_it_gives_each_plant_the_columns_of_its_own_number():
    plain = dict.fromkeys(("SCI_NAME", "HABIT", "PCT_COV"))
    plants = {
        **{"KIND_1": "EUFO", "SHAPED_1": "climbing", "PCTCOV_1": 10},
        **{"KIND_2": "LOMA", "SHAPED_2": "shrub", "PCTCOV_2": 20},
    }
    columns = suggested(theirs({**plain, **plants}))["columns"]
    told = [columns[name] for name in ("species_1", "growth_form_1", "species_2", "growth_form_2")]
    assert told == ["KIND_1", "SHAPED_1", "KIND_2", "SHAPED_2"]


def test_it_takes_an_id_that_several_rows_share_for_the_patch():
    rows = [{"POLY_ID": None, "RECORD_ID": name} for name in ("a", "a", "b")]
    assert suggested(theirs(*rows))["columns"]["patch_code"] == "RECORD_ID"


def test_it_takes_the_day_of_a_visit_before_a_time_of_the_database():
    moments = {"SEEN": None, "MADE": 1779286400000}
    columns = suggested(theirs(moments))["columns"]
    assert columns["observed_on"] == {"column": "MADE", "format": "milliseconds"}
    assert suggested(theirs({**moments, "VISITED": "2026-05-31"}))["columns"]["observed_on"] == "VISITED"


def test_it_does_not_take_meters_in_outlines_for_degrees():
    table = b'id,geom\n1,"POLYGON ((%s 4244857.5, 585620.25 4244857, 585620 4244870, %s 4244857.5))"\n'
    assert "crs" not in suggested(table.replace(b"%s", b"585610.25"), "meters.csv")
    degrees = b'id,geom\n1,"POLYGON ((-85.6992525 38.2007525, -85.6 38.2, -85.6 38.1, -85.6992525 38.2007525))"\n'
    assert suggested(degrees, "degrees.csv")["crs"] == "EPSG:4326"


@pytest.mark.parametrize(
    ("numbers", "commas"),
    [
        ((b"-85,69925", b"35,5"), True),
        ((b"-85.69925", b"35,5"), False),  # a list of numbers, or a thousand, beside numbers with a point
        ((b"1,250", b"12,500"), False),  # read two ways
    ],
)
def test_it_finds_decimal_commas_only_where_nothing_else_is_meant(numbers, commas):
    table = b"East;North;Cover\n%s;38;%s\n" % numbers
    assert suggested(table, "table.csv").get("decimal_comma", False) is commas


def test_it_keeps_how_numbers_are_written():
    document = {"decimal_comma": True, "columns": {"site_code": {"constant": "MILL"}}}
    assert document_of(mapping_from_document(document)) == document


def test_it_looks_for_a_location_in_columns_of_tables_alone():
    assert "wkt" not in suggested(theirs({"SHAPE": "round"}))["columns"]


@pytest.mark.parametrize(
    ("heading", "place", "told"),
    [
        ("Lat;Long", "38°12'34.5\"N;85°41'3\"W", {"latitude": "Lat", "longitude": "Long"}),
        ("Y;X", "38 12 34.5;-85 41 3", {"latitude": "Y", "longitude": "X"}),
        ("From map;Other", "N38 12.575;W85 41.05", {"latitude": "From map", "longitude": "Other"}),
        ("Coordinates;Gate", "38.2014, -85.7003;north", {"latitude_longitude": "Coordinates"}),
        ("Lon/Lat;Gate", "-85.7003, 38.2014;north", {"longitude_latitude": "Lon/Lat"}),
        ("Where;Gate", "85°41'W 38°12'N;north", {"longitude_latitude": "Where"}),
        ("Where;Gate", "38.2014 -85.7003;north", {"latitude_longitude": "Where"}),
        ("Location;Gate", "by the pond;north", {}),
        ("Stems;Gate", "10, 25;north", {}),
    ],
)
def test_it_finds_the_location_of_a_table(heading, place, told):
    quoted = ";".join(f'"{cell}"' for cell in place.replace('"', '""').split(";"))
    found = suggested(f"{heading};Plant\n{quoted};EUFO\n".encode(), "table.csv")
    assert {name: column for name, column in found["columns"].items() if name in PLACE} == told
    assert found.get("crs") == ("EPSG:4326" if told else None)


def test_both_coordinates_in_one_column_may_have_decimal_commas():
    found = suggested(b'Coordinates;Cover\n"38,2014; -85,7003";35\n', "table.csv")
    assert (found["decimal_comma"], found["columns"]["latitude_longitude"]) == (True, "Coordinates")
