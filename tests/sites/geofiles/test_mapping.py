"""Mapping documents: what they may say, and which key is named where they are wrong."""

from typing import Any

import pytest
import shapely

from orders.sites.geofiles.mapping import IDENTITY, FieldMapping, mapping_from_document, mapping_from_json
from orders.sites.geofiles.records import MappingRefused
from orders.sites.geofiles.resolving import resolve
from orders.sites.geofiles.vocabulary import COMPONENT, ROW
from tests.sites.geofiles.made import GOOD, check, found

ALL_CONSTANT = {name: {"constant": value} for name, value in GOOD.items()}
POINT = shapely.Point(-85.7, 38.2)
SPECIES_ROW = {"species": "EUFO", "growth_form": "climbing", "cover_percent": 10}


def columns(**changes: Any) -> FieldMapping:
    return mapping_from_document({"columns": {**ALL_CONSTANT, **changes}})


def refused_key(document: Any) -> str:
    with pytest.raises(MappingRefused) as refused:
        mapping_from_document(document)
    assert refused.value.message.startswith(refused.value.key)
    return refused.value.key


@pytest.mark.parametrize(
    ("document", "key"),
    [
        ([], "mapping"),
        ({"colums": {}}, "mapping.colums"),
        ({"crs": 2246}, "crs"),
        ({"close_tracks": "yes"}, "close_tracks"),
        ({"columns": []}, "columns"),
        ({"columns": {"patch": "X"}}, "columns.patch"),
        ({"columns": {"patch_code": 3}}, "columns.patch_code"),
        ({"columns": {"patch_code": {}}}, "columns.patch_code"),
        ({"columns": {"patch_code": {"column": "A", "constant": "B"}}}, "columns.patch_code"),
        ({"columns": {"patch_code": {"column": "A", "units": "ha"}}}, "columns.patch_code.units"),
        ({"columns": {"patch_code": {"constant": ["A"]}}}, "columns.patch_code.constant"),
        ({"columns": {"patch_code": {"column": "A", "unit": "ha"}}}, "columns.patch_code.unit"),
        ({"columns": {"gross_area_m2": {"column": "A", "unit": "hides"}}}, "columns.gross_area_m2.unit"),
        ({"columns": {"observed_on": {"column": "A", "format": "%d %B"}}}, "columns.observed_on.format"),
        ({"columns": {"observed_on": {"column": "A", "format": "day"}}}, "columns.observed_on.format"),
        ({"columns": {"patch_code": {"column": "A", "format": "%Y-%m-%d"}}}, "columns.patch_code.format"),
        ({"columns": {"fertile": {"column": "A", "values": {"x": 1}}}}, "columns.fertile.values.x"),
        ({"columns": {"longitude": "X"}}, "columns"),
        ({"columns": {"latitude_longitude": "X", "latitude": "Y"}}, "columns.latitude_longitude"),
        ({"columns": {"latitude_longitude": "X", "longitude_latitude": "X"}}, "columns.latitude_longitude"),
        ({"columns": {"wkt": {"constant": "POINT (1 2)"}}}, "columns.wkt"),
        ({"component_groups": {}}, "component_groups"),
        ({"component_groups": [{"patch_code": "A"}]}, "component_groups.1.patch_code"),
        ({"component_groups": [{"species": "A"}], "columns": {"species_2": "B"}}, "component_groups"),
    ],
)
def test_it_names_the_key_that_is_wrong(document: Any, key: str) -> None:
    assert refused_key(document) == key


def test_it_names_the_line_that_is_not_json() -> None:
    with pytest.raises(MappingRefused, match="line 2"):
        mapping_from_json('{"name": "x",\n columns: {}}')


def test_it_reads_a_mapping_of_json() -> None:
    mapping = mapping_from_json('{"name": "County", "crs": "EPSG:2246", "columns": {"patch_code": "ID"}}')
    assert (mapping.name, mapping.crs, mapping.row["patch_code"].column) == ("County", "EPSG:2246", "ID")


def test_it_keeps_our_own_names_where_a_mapping_names_no_columns() -> None:
    mapping = mapping_from_document({"crs": "EPSG:2246"})
    assert resolve(mapping, list(GOOD)).row["patch_code"].column == "patch_code"


@pytest.mark.parametrize(
    ("field", "given", "unit", "expected"),
    [
        ("gross_area_m2", 2, "acres", 8093.7128448),
        ("gross_area_m2", "0.5", "ha", 5000),
        ("slope_deg", 100, "percent", 45),
        ("distance_to_water_m", 10, "ft", 3.048),
        ("minutes_from_gate", 0.5, "hours", 30),
        ("target_cover_percent", 0.05, "fraction", 5),
    ],
)
def test_it_brings_units_to_ours(field: str, given: Any, unit: str, expected: float) -> None:
    mapping = columns(**{"gross_area_m2": {"constant": 7}, field: {"column": "X", "unit": unit}})
    survey = check({"X": given}, mapping=mapping, geometry=POINT).rows[0]
    assert getattr(survey, field.replace("gross_area", "area")) == pytest.approx(expected)


def test_it_translates_their_words_and_leaves_ours() -> None:
    mapping = columns(patch_code="patch_code", wet_ground={"column": "WET", "values": {"Seep": "yes", "dry": "no"}})
    checked = check(*({"WET": word, "patch_code": word} for word in ("SEEP", "dry", "unknown")), mapping=mapping)
    assert [survey.wet_ground for survey in checked.rows] == ["yes", "no", "unknown"]


def test_it_reads_dates_in_the_format_it_is_told() -> None:
    mapping = columns(observed_on={"column": "DATE", "format": "%m/%d/%Y"})
    assert check({"DATE": "05/31/2026"}, mapping=mapping).rows[0].observed_on.isoformat() == "2026-05-31"
    assert found(check({"DATE": "31/05/2026"}, mapping=mapping)) == [(1, "observed_on", "date_unreadable")]


def test_it_tells_the_column_in_an_error() -> None:
    mapping = columns(cover_percent="COV")
    assert "(column COV)" in check({"COV": 120}, mapping=mapping).errors[0].reason


def test_it_makes_components_of_listed_groups() -> None:
    groups = [
        {
            "species": "SPP1",
            "growth_form": {"constant": "climbing"},
            "cover_percent": {"column": "C1", "unit": "fraction"},
        },
        {"species": "SPP2", "growth_form": {"constant": "shrub"}, "cover_percent": "C2"},
    ]
    row = {name: {"constant": GOOD[name]} for name in ("site_code", "patch_code", "observed_on", "observer")}
    mapping = mapping_from_document({"columns": row, "component_groups": groups})
    survey = check({"SPP1": "EUFO", "C1": 0.25, "SPP2": "LOMA", "C2": 60}, mapping=mapping).rows[0]
    assert [(part.species_code, part.cover_percent) for part in survey.components] == [("EUFO", 25), ("LOMA", 60)]


def test_it_lets_a_field_without_a_number_hold_for_all_groups() -> None:
    names = {"species_1": "A", "species_2": "B", "growth_form": "FORM", "cover_percent": {"constant": 5}}
    base = {name: given for name, given in ALL_CONSTANT.items() if name not in SPECIES_ROW}
    survey = check(
        {"A": "EUFO", "B": "LOMA", "FORM": "herb"}, mapping=mapping_from_document({"columns": {**base, **names}})
    )
    assert {part.growth_form for part in survey.rows[0].components} == {"herb"}


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"patch_code": "POLY"}, "columns.patch_code"),
        ({"cover_percent": "COVR"}, "columns.cover_percent"),
    ],
)
def test_it_refuses_columns_that_the_file_does_not_have(changes: dict[str, Any], key: str) -> None:
    with pytest.raises(MappingRefused, match="COVER") as refused:
        resolve(columns(**changes), ["COVER", "NOTE"])
    assert refused.value.key == key


def test_it_finds_a_column_in_other_case() -> None:
    assert resolve(columns(patch_code="poly_id"), ["POLY_ID"]).row["patch_code"].column == "POLY_ID"


@pytest.mark.parametrize("lacking", ["site_code", "patch_code", "observed_on", "observer", "species", "growth_form"])
def test_it_refuses_a_file_that_lacks_a_needed_column(lacking: str) -> None:
    with pytest.raises(MappingRefused) as refused:
        resolve(IDENTITY, [name for name in GOOD if name != lacking])
    assert refused.value.key == f"columns.{lacking}"


def test_it_refuses_a_file_without_any_cover() -> None:
    with pytest.raises(MappingRefused, match="cover_class"):
        resolve(IDENTITY, [name for name in GOOD if name != "cover_percent"])


def test_it_reads_our_own_numbered_names_and_short_ones() -> None:
    fields = ["Site Code", "patch_code", "observed_on", "observer", "species_2", "growth_form_2", "cover_2"]
    fitted = resolve(IDENTITY, fields)
    assert fitted.groups["2"]["cover_percent"].column == "cover_2"
    assert fitted.row["site_code"].column == "Site Code"


def test_it_knows_our_own_names_cut_short_by_a_shapefile() -> None:
    fitted = resolve(IDENTITY, [*(name[:10] for name in GOOD), "infested_p", "stems_smal"])
    assert fitted.row["observed_on"].column == "observed_o"
    assert {"growth_form", "cover_percent", "infested_percent", "stems_small"} <= set(fitted.groups[""])


def test_it_leaves_no_two_of_our_names_the_same_when_cut_short() -> None:
    cut = [name[:10] for name in (*ROW, *COMPONENT)]
    assert len(set(cut)) == len(cut)


def test_it_refuses_two_columns_for_one_field() -> None:
    with pytest.raises(MappingRefused, match="both cover and cover_percent"):
        resolve(IDENTITY, ["cover", *GOOD])
