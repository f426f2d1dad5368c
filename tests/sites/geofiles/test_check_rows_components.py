"""Several components of one survey, their areas and covers, and rows that belong together."""

from typing import Any

import pytest
import shapely

from orders.sites.geofiles.checks import check_rows
from orders.sites.geofiles.mapping import mapping_from_document
from orders.sites.geofiles.records import SurveyComponent
from tests.sites.geofiles.made import GOOD, KNOWN, SMALL, SQUARE, TODAY, check, found, raw_file, warned

POINT = shapely.Point(-85.70, 38.20)


def component(**row: Any) -> SurveyComponent:
    return check({"gross_area_m2": 1000, **row}, geometry=POINT).rows[0].components[0]


def errors_of(**row: Any) -> list[tuple[int, str, str]]:
    return found(check({"gross_area_m2": 1000, **row}, geometry=POINT))


def test_it_takes_all_of_a_patch_as_infested_where_nothing_else_is_said() -> None:
    assert (component().infested_area_m2, component().infested_percent) == (1000, 100)


def test_it_reckons_the_infested_area_by_percent() -> None:
    # 12.5 acres x 20 % = 2.5 acres. Source: USDA Forest Service, Southwestern Region, TP-R3-16-26 (computed from it).
    acre_m2 = 4046.8564224
    assert component(gross_area_m2=12.5 * acre_m2, infested_percent=20).infested_area_m2 == pytest.approx(2.5 * acre_m2)


def test_it_reckons_the_percent_by_area() -> None:
    assert component(infested_area_m2=250).infested_percent == 25


@pytest.mark.parametrize(("infested_m2", "kept_m2"), [(1000, 1000), (1009, 1000)])
def test_it_lets_an_infested_area_pass_up_to_1_percent_over(infested_m2: float, kept_m2: float) -> None:
    assert component(infested_area_m2=infested_m2).infested_area_m2 == kept_m2


@pytest.mark.parametrize(
    ("row", "field", "code"),
    [
        ({"infested_area_m2": 1011}, "infested_area_m2", "infested_over_gross"),
        ({"infested_area_m2": 500, "infested_percent": 60}, "infested_percent", "infested_disagrees"),
        ({"infested_percent": 0}, "infested_percent", "zero_without_eradicated"),
        ({"infested_area_m2": 0}, "infested_area_m2", "zero_without_eradicated"),
        (
            {"infested_percent": 5, "control_state": "eradicated"},
            "infested_percent",
            "infested_though_eradicated",
        ),
        ({"cover_class": "2", "cover_scheme": "daubenmire-1959"}, "cover_class", "cover_twice"),
        ({"cover_percent": None, "cover_class": "2"}, "cover_scheme", "missing"),
        ({"cover_percent": None, "cover_class": "2", "cover_scheme": "ours"}, "cover_scheme", "unknown_cover_scheme"),
        (
            {"cover_percent": None, "cover_class": "7", "cover_scheme": "daubenmire-1959"},
            "cover_class",
            "unknown_cover_class",
        ),
    ],
)
def test_it_refuses_a_component(row: dict[str, Any], field: str, code: str) -> None:
    assert errors_of(**row) == [(1, field, code)]


def test_it_explains_the_tolerance() -> None:
    reason = check({"gross_area_m2": 1000, "infested_area_m2": 1500}, geometry=POINT).errors[0].reason
    assert "1% over is let pass" in reason


@pytest.mark.parametrize("row", [{"infested_percent": 0}, {"infested_area_m2": 0}, {}])
def test_it_takes_an_eradicated_patch_with_nothing_infested_and_no_cover(row: dict[str, Any]) -> None:
    gone = component(control_state="eradicated", cover_percent=None, **row)
    assert (gone.infested_area_m2, gone.cover_percent) == (0, None)


def test_it_takes_cover_by_class() -> None:
    part = component(cover_percent=None, cover_class=3.0, cover_scheme="Daubenmire 1959")
    assert (part.cover_percent, part.cover_class, part.cover_scheme) == (None, "3", "daubenmire-1959")


def test_it_warns_of_a_percent_on_a_very_small_patch_and_keeps_it() -> None:
    # An outline of 0.1 acre (404.7 m²) or less counts as wholly infested; same source as above.
    checked = check({"gross_area_m2": 400, "infested_percent": 60}, geometry=POINT)
    assert warned(checked) == [(1, "infested_percent", "small_patch_percent")]
    assert checked.rows[0].components[0].infested_percent == pytest.approx(60)
    assert warned(check({"gross_area_m2": 405, "infested_percent": 60}, geometry=POINT)) == []


GROUPS = {
    "species": None,
    "growth_form": None,
    "cover_percent": None,
    "species_1": "EUFO",
    "growth_form_1": "ground_cover",
    "cover_percent_1": 80,
    "species_2": "EUFO",
    "growth_form_2": "climbing",
    "cover_percent_2": 40,
}


def test_it_reads_numbered_groups_as_components_whose_covers_may_sum_over_100() -> None:
    survey = check(GROUPS).rows[0]
    assert [(part.growth_form, part.cover_percent) for part in survey.components] == [
        ("ground_cover", 80),
        ("climbing", 40),
    ]


def test_it_leaves_out_a_group_that_is_blank() -> None:
    blank = {"species_2": "", "growth_form_2": None, "cover_percent_2": None}
    assert len(check(GROUPS | blank).rows[0].components) == 1


def test_it_names_the_group_that_is_half_blank() -> None:
    assert found(check(GROUPS | {"species_2": ""})) == [(1, "species_2", "missing")]


def test_it_asks_for_a_component_where_there_is_none() -> None:
    blank = dict.fromkeys(GROUPS)
    assert found(check(blank)) == [(1, "species_1", "missing")]


def test_it_puts_rows_of_the_same_patch_and_date_together() -> None:
    climbing = {"growth_form": "climbing", "stems_large": 3, "observer": "Ada Vole", "geometry": None}
    survey = check({"slope_deg": 10}, climbing).rows[0]
    assert survey.rows == (1, 2)
    assert [part.growth_form for part in survey.components] == ["ground_cover", "climbing"]
    assert (survey.slope_deg, survey.components[1].stems_large) == (10, 3)


@pytest.mark.parametrize(
    "other", [{"patch_code": "P2"}, {"observed_on": "2026-05-02"}, {"site_code": "FARM"}], ids=["patch", "date", "site"]
)
def test_it_keeps_other_surveys_apart(other: dict[str, Any]) -> None:
    assert len(check({}, other).rows) == 2


def test_it_refuses_the_same_species_and_form_twice_in_one_survey() -> None:
    checked = check({}, {"cover_percent": 10}, {"patch_code": "P2"})
    assert found(checked) == [(2, "species", "duplicate")]
    assert "row 1" in checked.errors[0].reason
    assert [survey.patch_code for survey in checked.rows] == ["P2"]


def test_it_refuses_the_same_species_and_form_twice_in_one_row() -> None:
    assert found(check(GROUPS | {"growth_form_2": "ground_cover"})) == [(1, "species_2", "duplicate")]


def test_it_refuses_rows_of_one_survey_that_say_different_things() -> None:
    checked = check({"slope_deg": 10}, {"growth_form": "climbing", "slope_deg": 20, "geometry": SMALL})
    assert sorted(found(checked)) == [(2, "geometry", "geometry_differs"), (2, "slope_deg", "facts_differ")]


def test_it_refuses_all_rows_of_a_survey_when_one_is_bad() -> None:
    assert check({}, {"growth_form": "climbing", "cover_percent": 300}).rows == ()


def test_it_names_every_row_of_a_survey_without_a_location() -> None:
    checked = check({"geometry": None}, {"geometry": None, "growth_form": "climbing"}, {"patch_code": "P2"})
    assert found(checked) == [(1, "geometry", "geometry_missing"), (2, "geometry", "geometry_missing")]


def test_it_holds_infested_areas_to_the_outline() -> None:
    checked = check({"infested_area_m2": 1_000_000}, geometry=SQUARE)
    assert found(checked) == [(1, "infested_area_m2", "infested_over_gross")]


def test_a_column_that_plants_share_makes_none_of_them() -> None:
    shared = {"column": "HT", "unit": "ft"}
    names = {name: name for name in (*GOOD, *GROUPS) if name not in ("species", "growth_form", "cover_percent")}
    mapping = mapping_from_document({"columns": {**names, "height_m_1": shared, "height_m_2": shared}})
    blank = {"species_2": None, "growth_form_2": None, "cover_percent_2": None}
    checked = check_rows(raw_file({**GOOD, **GROUPS, **blank, "HT": 10}), mapping, KNOWN, TODAY)
    assert [(part.species_code, part.height_m) for part in checked.rows[0].components] == [("EUFO", 3.048)]
