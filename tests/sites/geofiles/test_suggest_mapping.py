import pytest

from orders.sites.geofiles.mapping import mapping_from_document
from orders.sites.geofiles.suggesting import suggest_mapping


@pytest.mark.parametrize(
    ("column", "ours"),
    [
        ("Patch Code", "patch_code"),
        ("SURVEY_DATE", "observed_on"),
        ("RecordedBy", "observer"),
        ("ScientificName", "species"),
        ("PercentCover", "cover_percent"),
        ("GrowthForm", "growth_form"),
        ("Comments", "notes"),
        ("decimalLongitude", "longitude"),
        ("Slope", "slope_deg"),
        ("Terrain", "ground"),
        ("CutHeight", "cut_height_m"),
        ("Height", "height_m"),
    ],
)
def test_it_knows_what_columns_are_often_called(column: str, ours: str) -> None:
    assert suggest_mapping([column]) == {ours: column}


def test_it_reads_the_unit_off_the_name() -> None:
    suggested = suggest_mapping(["GROSS_AREA_ACRES", "Infested Acres", "Height_ft"])
    assert suggested["gross_area_m2"] == {"column": "GROSS_AREA_ACRES", "unit": "acres"}
    assert suggested["infested_area_m2"] == {"column": "Infested Acres", "unit": "acres"}
    assert suggested["height_m"] == {"column": "Height_ft", "unit": "ft"}


def test_it_keeps_numbered_groups_together() -> None:
    suggested = suggest_mapping(["Species1", "Species2", "Cover_1", "Cover_2"])
    assert suggested == {
        "species_1": "Species1",
        "species_2": "Species2",
        "cover_percent_1": "Cover_1",
        "cover_percent_2": "Cover_2",
    }


def test_it_gives_the_closer_name_the_field() -> None:
    assert suggest_mapping(["patch", "patch_code"])["patch_code"] == "patch_code"


def test_it_suggests_nothing_for_names_that_are_like_none() -> None:
    assert suggest_mapping(["OBJECTID", "GlobalID", "created_by", "xyzzy"]) == {}


def test_it_suggests_what_a_mapping_can_take() -> None:
    suggested = suggest_mapping(
        ["Site", "Patch ID", "Date", "Surveyor", "Gross Area (acres)", "Species Code", "Lat", "Long"]
    )
    mapping = mapping_from_document({"columns": suggested})
    assert mapping.row["gross_area_m2"].unit == "acres"
    assert mapping.place["longitude"].column == "Long"
