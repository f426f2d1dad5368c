"""Surveys as a file again, in our own columns: what goes out comes in as the same."""

import json

import pytest

from orders.sites.convert import survey_export
from orders.sites.models import Survey
from orders.sites.selectors import surveys
from orders.sites.services import survey_import_undo
from tests import build
from tests.sites.imports.handed import OTHER_PLACE, bring, features, noted, row, told

pytestmark = pytest.mark.django_db
CREEPER = {
    "species_1": "EUFO",
    "growth_form_1": "ground cover",
    "cover_class_1": "5",
    "cover_scheme_1": "daubenmire-1959",
}
SHRUB = {"species_2": "LOMA", "growth_form_2": "shrub", "cover_percent_2": 33.3333, "infested_percent_2": 41.7}
STEMS = {
    "stems_small_2": 12,
    "stems_large_2": 0,
    "height_m_2": 3.25,
    "cut_height_m_2": 1.5,
    "host_trees_2": 2,
    "fertile_2": "yes",
    "reproductive_condition_2": "fruit",
}
GROUND = {
    "ground": "obstructed",
    "slope_deg": 11.1,
    "wet_ground": "no",
    "distance_to_water_m": 40.0,
    "minutes_from_gate": 7.5,
    "notes": "“Ü”",
}
OF_THE_PATCH = {"patch_name": "Mill race", "target_cover_percent": 3.3, "control_state": "under_treatment"}
BARE = row(species=None, growth_form=None, cover_percent=None)
RICH = {**BARE, **CREEPER, **SHRUB, **STEMS, **GROUND, **OF_THE_PATCH}
PLAIN = {**BARE, "patch_code": "P2", "species_1": "EUFO", "growth_form_1": "climbing", "cover_percent_1": 70 / 3}
GONE = {**PLAIN, "patch_code": "P3", "cover_percent_1": None, "control_state": "eradicated", "infested_percent_1": 0}
POINT = {**PLAIN, "patch_code": "P4", "gross_area_m2": 321.7, "geometry": OTHER_PLACE.centroid}


@pytest.fixture
def imported(mill):
    imported = bring(features(RICH, {**PLAIN, "geometry": OTHER_PLACE}, GONE, POINT))
    assert (told(imported), imported.surveys_added) == ([], 4)
    return imported


def test_it_is_known_where_it_came_from(imported):
    again = bring(survey_export(surveys()).encode())
    assert (told(again), again.rows_known, again.rows_added) == ([], 4, 0)


def test_it_comes_in_as_the_same_elsewhere(imported):
    exported = survey_export(surveys())
    survey_import_undo(imported=imported, stamp=build.stamp(reason="as if it were another database"))
    again = bring(exported.encode())
    assert (told(again), again.rows_added) == ([], 4)
    assert survey_export(surveys().filter(voided_at__isnull=True)) == exported


def test_it_makes_the_patches_as_they_were_told(imported):
    exported = survey_export(surveys())
    Survey.objects.update(voided_at=build.NOW, void_reason="as if it were another database")
    bring(exported.replace('"patch_code": "P', '"patch_code": "Q').encode())
    names = ("name", "target_cover", "control_state")
    told_again = Survey.objects.filter(patch__code="Q1").values(*(f"patch__{name}" for name in names)).get()
    assert list(told_again.values()) == ["Mill race", 0.033, "under_treatment"]


def test_it_has_every_column_in_every_feature(imported):
    features_out = json.loads(survey_export(surveys()))["features"]
    assert len({tuple(feature["properties"]) for feature in features_out}) == 1
    assert features_out[1]["properties"]["species_2"] is None


def test_it_says_nothing_that_the_import_would_not_read(imported):
    again = bring(survey_export(surveys()).encode(), dry_run=True)
    assert [code for _, _, code in noted(again)] == []


def test_it_is_an_empty_collection_of_nothing():
    assert json.loads(survey_export([])) == {"type": "FeatureCollection", "features": []}


def test_it_asks_the_database_the_same_number_of_times(imported, django_assert_num_queries):
    with django_assert_num_queries(4):
        survey_export(surveys())
