"""Cells that cannot be read or cannot be, each named with its row, field and code."""

from datetime import date
from typing import Any

import pytest

from orders.sites.convert import finding_of
from orders.sites.geofiles.checks import check_rows
from orders.sites.geofiles.mapping import mapping_from_document
from orders.sites.geofiles.telling import MESSAGE_CHARACTERS
from tests.sites.geofiles.made import GOOD, KNOWN, TODAY, check, found, raw_file


@pytest.mark.parametrize(
    ("field", "value", "code"),
    [
        ("site_code", "NOWHERE", "unknown_site"),
        ("site_code", "", "missing"),
        ("patch_code", None, "missing"),
        ("patch_code", "P" * 41, "too_long"),
        ("patch_name", "bell \x07", "text_unreadable"),
        ("observed_on", "", "missing"),
        ("observed_on", "05/31/2026", "date_unreadable"),
        ("observed_on", "2026-02-30", "date_unreadable"),
        ("observed_on", "2026-11-26", "date_in_future"),
        ("observer", "  ", "missing"),
        ("species", "Vitis riparia", "unknown_species"),
        ("species", "", "missing"),
        ("growth_form", "liana", "unknown_growth_form"),
        ("cover_percent", 100.5, "cover_out_of_range"),
        ("cover_percent", -1, "cover_out_of_range"),
        ("cover_percent", "forty", "number_unreadable"),
        ("cover_percent", "75 - 50 %", "number_unreadable"),
        ("cover_percent", "50 - 750", "cover_out_of_range"),
        ("cover_percent", "nan", "number_unreadable"),
        ("cover_percent", "1e999", "number_unreadable"),
        ("cover_percent", None, "missing"),
        ("infested_percent", 101, "out_of_range"),
        ("slope_deg", 80, "out_of_range"),
        ("distance_to_water_m", "1,200", "number_unreadable"),
        ("minutes_from_gate", -5, "out_of_range"),
        ("ground", "lumpy", "unknown_ground"),
        ("wet_ground", "damp", "answer_unreadable"),
        ("fertile", "perhaps", "answer_unreadable"),
        ("reproductive_condition", "ripe-ish", "unknown_reproductive_condition"),
        ("control_state", "mostly done", "unknown_control_state"),
        ("stems_small", 2.5, "number_unreadable"),
        ("stems_large", -1, "number_unreadable"),
        ("height_m", 200, "out_of_range"),
        ("cut_height_m", 0.2, "out_of_range"),
        ("cut_height_m", 6.5, "out_of_range"),
        ("host_trees", "several", "number_unreadable"),
    ],
)
def test_it_names_the_cell_that_is_wrong(field: str, value: Any, code: str) -> None:
    checked = check({}, {field: value, "site_code": GOOD["site_code"], "patch_code": "P2"} | {field: value})
    assert found(checked) == [(2, field, code)]
    assert [survey.patch_code for survey in checked.rows] == ["P1"]


def test_it_reports_every_error_of_a_row_and_every_bad_row() -> None:
    bad = {"species": "moss", "cover_percent": 400, "observer": ""}
    checked = check(bad, {"patch_code": "P2", "growth_form": "liana"})
    assert sorted(found(checked)) == [
        (1, "cover_percent", "cover_out_of_range"),
        (1, "observer", "missing"),
        (1, "species", "unknown_species"),
        (2, "growth_form", "unknown_growth_form"),
    ]


def test_it_offers_species_that_are_spelled_alike() -> None:
    assert "did you mean EUFO?" in check({"species": "Euonymous fortunii"}).errors[0].reason


@pytest.mark.parametrize("written", ["EUFO", "eufo", "Euonymus fortunei", "Wintercreeper", " euonymus  FORTUNEI "])
def test_it_knows_a_species_by_code_and_by_name(written: str) -> None:
    assert check({"species": written}).rows[0].components[0].species_code == "EUFO"


@pytest.mark.parametrize("written", ["ground cover", "Ground_Cover", "GROUND-COVER"])
def test_it_knows_a_growth_form_however_it_is_spaced(written: str) -> None:
    assert check({"growth_form": written}).rows[0].components[0].growth_form == "ground_cover"


@pytest.mark.parametrize(
    "written", ["2026-05-01", "2026/05/01", "2026-05-01T10:30:00", "2026-5-1", "2026-05-01 00:00:00+00"]
)
def test_it_reads_a_day_with_the_year_first(written: str) -> None:
    assert check({"observed_on": written}).rows[0].observed_on == date(2026, 5, 1)


def test_it_takes_a_survey_of_today() -> None:
    assert check({"observed_on": TODAY.isoformat()}).rows[0].observed_on == TODAY


def test_it_reads_codes_that_a_program_made_into_numbers() -> None:
    assert check({"patch_code": 12.0}).rows[0].patch_code == "12"


@pytest.mark.parametrize(
    ("written", "expected"),
    [("Yes", "yes"), (True, "yes"), (1, "yes"), ("N", "no"), (False, "no"), ("?", "unknown"), (None, "unknown")],
)
def test_it_reads_answers(written: Any, expected: str) -> None:
    assert check({"evergreen_natives": written}).rows[0].evergreen_natives == expected


def test_it_reads_a_percent_sign() -> None:
    assert check({"cover_percent": "40 %"}).rows[0].components[0].cover_percent == 40


def test_it_leaves_what_was_not_observed_unknown() -> None:
    survey = check({}).rows[0]
    assert (survey.slope_deg, survey.control_state, survey.components[0].stems_small) == (None, None, None)
    assert (survey.wet_ground, survey.components[0].fertile) == ("unknown", "unknown")


def test_it_mentions_columns_that_it_does_not_read() -> None:
    warning = check({"slope": 12, "colour": None, "lon": -85.7}).warnings[0]
    assert (warning.code, warning.row) == ("columns_not_read", 0)
    assert warning.reason == "These columns are not used: slope."


def test_it_names_as_many_of_many_columns_as_fit_whole() -> None:
    columns = {f"column number {place} of many": "x" for place in range(40)}
    (warning,) = check(columns).warnings
    told = finding_of(warning)["message"]
    named = told.removeprefix("These columns are not used: ").removesuffix(".")
    first, more = named.split(" and ")
    names = first.split(", ")
    assert set(names) <= set(columns)
    assert (len(names) > 8, more) == (True, f"{40 - len(names)} more")
    assert len(told) <= MESSAGE_CHARACTERS


def test_a_column_whose_name_fills_a_message_leaves_room_for_the_others() -> None:
    (warning,) = check({"x" * 500: 1, "short": 1, "": 1}).warnings
    assert warning.reason == "These columns are not used: short, one without a name and 1 more."
    (alone,) = check({"x" * 500: 1}).warnings
    assert alone.reason == "These columns are not used: 1 with names too long to be told here."


@pytest.mark.parametrize(
    ("text", "percent"), [("50 - 75 %", 62.5), ("25-50%", 37.5), ("5% to 25%", 15.0), ("<5 %", 2.5), ("40 %", 40.0)]
)
def test_it_reads_the_middle_of_a_range_of_cover(text, percent):
    (row,) = check(GOOD | {"cover_percent": text}).rows
    assert row.components[0].cover_percent == percent


def test_it_reads_a_day_from_milliseconds() -> None:
    columns = {**{name: name for name in GOOD}, "observed_on": {"column": "observed_on", "format": "milliseconds"}}
    mapping = mapping_from_document({"columns": columns})
    rows = [{**GOOD, "observed_on": moment} for moment in (1779286400000, 20260520)]
    checked = check_rows(raw_file(*rows), mapping, KNOWN, TODAY)
    assert checked.rows[0].observed_on == date(2026, 5, 20)
    assert found(checked) == [(2, "observed_on", "date_unreadable")]


def test_it_reads_a_decimal_comma_where_the_mapping_says_so() -> None:
    mapping = mapping_from_document({"decimal_comma": True, "columns": {name: name for name in GOOD}})
    rows = [
        {**GOOD, "patch_code": f"{place},5", "cover_percent": text} for place, text in enumerate(["35,5", "1.250,5"])
    ]
    checked = check_rows(raw_file(*rows), mapping, KNOWN, TODAY)
    assert (checked.rows[0].patch_code, checked.rows[0].components[0].cover_percent) == ("0,5", 35.5)
    assert found(checked) == [(2, "cover_percent", "number_unreadable")]
