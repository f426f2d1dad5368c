"""What an import leaves in the database: patches, surveys, components and the record of them."""

import json
from datetime import UTC, date, datetime

import pytest

from orders.common.models import Change
from orders.common.models.run import DONE
from orders.sites.models import Patch, Survey, SurveyComponent
from tests import build
from tests.sites.geofiles.made import SMALL
from tests.sites.imports.handed import OTHER_PLACE, bring, features, noted, row, told

pytestmark = pytest.mark.django_db


def test_it_makes_the_patch_and_its_survey(mill, user):
    imported = bring(stamp=build.stamp(by=user))
    survey = Survey.objects.get()
    assert (imported.state, imported.patches_added, imported.surveys_added) == (DONE, 1, 1)
    assert (survey.patch.site, survey.patch.code, survey.patch.version) == (mill, "P1", 1)
    assert (survey.observed_on, survey.observer) == (date(2026, 5, 1), "Ada Vole")
    assert (survey.source, survey.source_row, survey.recorded_at) == (imported, 1, build.NOW)


def test_it_keeps_the_box_of_the_outline(mill):
    bring()
    survey = Survey.objects.get()
    assert (survey.min_lon, survey.min_lat, survey.max_lon, survey.max_lat) == SMALL.bounds


def test_it_keeps_what_the_row_says_of_the_ground(mill):
    facts = {
        "slope_deg": 12.5,
        "distance_to_water_m": 30.0,
        "minutes_from_gate": 8.0,
        "notes": "Old fence",
        "ground": "rough",
    }
    answers = {"wet_ground": "yes", "desirable_tree_roots": "no", "evergreen_natives": "yes"}
    bring(features(row(**facts, **answers)))
    kept = Survey.objects.values(*facts, *answers, "spring_ephemerals").get()
    assert kept == {**facts, **answers, "spring_ephemerals": "unknown"}


def test_it_takes_a_percent_as_it_was_seen(mill):
    bring(features(row(cover_percent=37.5)))
    part = SurveyComponent.objects.get()
    assert (part.cover_low, part.cover_likely, part.cover_high) == (0.375, 0.375, 0.375)
    assert (part.cover_as_entered, part.cover_is_class, part.cover_scheme) == ("37.5%", False, "")


def test_it_takes_a_class_as_its_limits_and_middle(mill):
    bring(features(row(cover_percent=None, cover_class="2", cover_scheme="daubenmire-1959")))
    part = SurveyComponent.objects.get()
    # Class 2 of Daubenmire (1959) is 5 to 25%: see estimating.cover_classes for the source.
    assert (part.cover_low, part.cover_likely, part.cover_high) == (0.05, 0.15, 0.25)
    assert (part.cover_as_entered, part.cover_is_class, part.cover_scheme) == ("2", True, "daubenmire-1959")


def test_it_keeps_each_component_of_a_patch(mill):
    creeper = {"species_1": "EUFO", "growth_form_1": "ground_cover", "cover_percent_1": 40}
    vine = {"species_2": "EUFO", "growth_form_2": "climbing", "cover_percent_2": 10, "infested_area_m2_2": 200.5}
    more = {"stems_small_2": 40, "stems_medium_2": 7, "stems_large_2": 1, "height_m_2": 9.5, "host_trees_2": 4}
    bare = row(species=None, growth_form=None, cover_percent=None)
    bring(features({**bare, **creeper, **vine, **more, "fertile_2": "yes"}))
    ground, climbing = SurveyComponent.objects.order_by("id")
    assert (ground.growth_form.code, climbing.growth_form.code) == ("ground cover", "climbing")
    assert ground.infested_area_m2 == ground.survey.gross_area_m2
    assert (climbing.infested_area_m2, climbing.fertile, climbing.host_trees) == (200.5, "yes", 4)
    assert (climbing.stems_small, climbing.stems_medium, climbing.stems_large, climbing.height_m) == (40, 7, 1, 9.5)


def test_it_keeps_how_high_climbers_are_cut(mill):
    columns = {name: name for name in row()} | {
        "ground": {"column": "UNDERFOOT", "values": {"talus": "Rough"}},
        "cut_height_m": {"column": "CUT_FT", "unit": "ft"},
    }
    bring(features(row(UNDERFOOT="Talus", CUT_FT=5)), mapping_text=json.dumps({"columns": columns}))
    part = SurveyComponent.objects.get()
    assert part.survey.ground == "rough"
    assert part.cut_height_m == pytest.approx(1.524)


@pytest.mark.parametrize(
    ("word", "kept"), [("Fruit", "fruit"), ("in bloom", "flowers"), ("non-reproductive", "none"), ("", "unknown")]
)
def test_it_keeps_what_was_on_the_plant(mill, word, kept):
    bring(features(row(reproductive_condition=word)))
    assert SurveyComponent.objects.get().reproductive_condition == kept


def test_it_puts_rows_of_one_patch_and_day_together(mill):
    imported = bring(features(row(), row(species="LOMA", growth_form="shrub")))
    assert (imported.rows_added, imported.surveys_added) == (2, 1)
    assert Survey.objects.get().components.count() == 2


def test_it_needs_no_cover_where_a_patch_is_gone(mill):
    gone = row(patch_code="P2", cover_percent=None, control_state="eradicated", infested_percent=0)
    bring(features(row(), {**gone, "geometry": OTHER_PLACE}))
    part = SurveyComponent.objects.get(survey__patch__code="P2")
    assert (part.infested_area_m2, part.cover_likely, part.cover_as_entered) == (0, 0, "")
    assert part.survey.patch.control_state == "eradicated"


def test_it_adds_to_a_patch_that_is_there(mill):
    patch = build.PatchFactory(site=mill, code="P1")
    imported = bring()
    assert (imported.patches_added, Survey.objects.get().patch, Patch.objects.count()) == (0, patch, 1)


def test_it_tells_the_same_code_of_two_sites_apart(mill):
    other = build.SiteFactory(code="FARM", boundary=build.square(side=0.01))
    bring(features(row(), row(site_code="FARM", geometry=OTHER_PLACE)))
    assert set(Patch.objects.values_list("site__code", "code")) == {("MILL", "P1"), (other.code, "P1")}


def test_it_sets_what_is_wanted_of_a_new_patch(mill):
    bring(features(row(patch_name="Mill race", target_cover_percent=2, control_state="maintenance")))
    patch = Patch.objects.get()
    assert (patch.name, patch.target_cover, patch.control_state) == ("Mill race", 0.02, "maintenance")


def test_it_lets_the_newest_row_speak_for_a_new_patch(mill):
    old = row(observed_on="2024-05-01", control_state="untreated", patch_name="Race")
    bring(features(row(control_state="maintenance"), old))
    assert (Patch.objects.get().control_state, Patch.objects.get().name) == ("maintenance", "Race")


def test_it_leaves_what_is_wanted_of_a_known_patch_to_people(mill):
    build.PatchFactory(site=mill, code="P1", control_state="maintenance", target_cover=0.02)
    imported = bring(features(row(control_state="under_treatment", target_cover_percent=2)))
    assert (Patch.objects.get().control_state, Patch.objects.get().version) == ("maintenance", 1)
    assert noted(imported) == [(1, "control_state", "patch_not_changed")]
    assert Survey.objects.get().patch_said == {"control_state": "under_treatment", "target_cover_percent": 2}


def test_it_points_at_codes_that_differ_in_case_alone(mill):
    build.PatchFactory(site=mill, code="p1")
    imported = bring(features(row(), row(patch_code="Q"), row(patch_code="q", geometry=OTHER_PLACE)))
    assert noted(imported) == [(1, "patch_code", "patch_code_alike"), (3, "patch_code", "patch_code_alike")]
    assert Patch.objects.count() == 4


def test_it_records_each_row_that_it_writes(mill, user):
    imported = bring(stamp=build.stamp(by=user))
    survey = Survey.objects.get()
    changes = Change.objects.exclude(verb="survey_import_ask").order_by("id")
    assert [(change.verb, change.entity_id) for change in changes] == [
        ("patch_add", survey.patch.public_id),
        ("survey_add", survey.public_id),
    ]
    assert {(change.actor, change.reason) for change in changes} == {(user, "Import of survey.geojson")}
    assert (changes[1].after or {})["import"] == str(imported.public_id)


def test_it_takes_a_survey_of_today_at_the_easternmost_site(mill, settings):
    settings.PROGRAM_TIME_ZONE = "America/Chicago"
    just_after_midnight_at_the_mill = build.stamp(at=datetime(2026, 12, 2, 5, 30, tzinfo=UTC))
    imported = bring(features(row(observed_on="2026-12-02")), stamp=just_after_midnight_at_the_mill)
    assert told(imported) == []


def test_it_tells_how_far_it_is(mill):
    heard = []
    bring(tell=lambda done, total, note: heard.append((done, total, note)))
    assert heard[0] == (0, 0, "Reading the file")
    assert heard[-1] == (1, 1, "Writing surveys")
