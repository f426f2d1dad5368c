"""A file on its way in: looked into, matched, tried, taken, or let go."""

import json
from datetime import timedelta

import pytest

from orders.common.errors import Invalid, WrongState
from orders.common.models import Change
from orders.sites.geofiles.looking import Found
from orders.sites.models import Survey, SurveyFile, SurveyImport, TrialRow
from orders.sites.services.survey_files import (
    fit_check,
    survey_file_add,
    survey_file_drop,
    survey_file_look,
    survey_file_match,
    survey_file_replace,
    survey_file_take,
    survey_file_try,
    survey_files_clean,
)
from orders.sites.services.surveys import survey_import_undo
from tests import build
from tests.sites.files.made import (
    ONE_BAD,
    TABLE,
    TWO,
    geopackage_layers,
    handed,
    mapping_of,
    matched,
    performed,
    theirs,
    trial_of,
    tried,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mill")]


def test_it_keeps_the_file_and_what_is_in_it():
    row = handed()
    assert (row.file_name, row.found["rows"], row.matched_at) == ("theirs.geojson", 2, None)
    assert bytes(SurveyFile.objects.get().file_bytes) == TWO
    assert [change.verb for change in Change.objects.filter(entity="surveyfile")] == ["survey_file_add"]


@pytest.mark.parametrize("data", [b"", b"%PDF-1.7 a plan", b"a;b\n1;2\n" * 0 + b"{"])
def test_it_says_why_a_file_cannot_be_opened(data):
    with pytest.raises(Invalid) as refused:
        survey_file_look(data, "plan.pdf")
    assert [error.field for error in refused.value.errors] == ["file"]
    assert SurveyFile.objects.count() == 0


def test_it_is_handed_in_by_somebody():
    with pytest.raises(WrongState):
        survey_file_add(looked=survey_file_look(TWO, "theirs.geojson"), stamp=build.stamp())


def test_it_counts_nothing_before_it_is_taken():
    row = tried()
    assert row.trial is not None
    assert (row.trial.state, row.trial.dry_run, row.trial.surveys_added) == ("done", True, 2)
    assert Survey.objects.count() == 0


def test_it_tells_what_would_become_of_each_row():
    trial = tried(ONE_BAD).trial
    told = list(TrialRow.objects.filter(imported=trial).values_list("number", "outcome", "patch_code", "new_patch"))
    assert told == [(1, "new", "A-1", True), (2, "bad", "A-2", False)]


def test_it_keeps_the_own_values_of_rows_that_somebody_should_look_at():
    tried(theirs({"AREA_AC": None}, {"AREA_AC": None, "POLY_ID": "A-2", "PCT_COV": 350}))
    good, bad = TrialRow.objects.order_by("number")
    assert (good.cells, bad.cells["PCT_COV"], bad.cells["SEEN"]) == ({}, "350", "05/31/2026")
    assert (bad.geometry or {}).get("type") == "Polygon"


def test_it_takes_the_file_as_it_was_tried():
    taken = survey_file_take(survey_file=tried(), keep_good_rows=False, stamp=build.stamp())
    performed(taken)
    assert (taken.refused, taken.surveys_added, Survey.objects.count()) == (False, 2, 2)
    assert not TrialRow.objects.filter(imported=taken).exists()


def test_it_takes_good_rows_only_where_that_was_said():
    row = tried(ONE_BAD)
    with pytest.raises(Invalid):
        survey_file_take(survey_file=row, keep_good_rows=False, stamp=build.stamp())
    taken = survey_file_take(survey_file=row, keep_good_rows=True, stamp=build.stamp())
    performed(taken)
    assert (taken.surveys_added, len(taken.errors)) == (1, 1)


def test_it_is_taken_once():
    row = tried()
    survey_file_take(survey_file=row, keep_good_rows=False, stamp=build.stamp())
    for again in (SurveyFile.objects.get(), row):
        with pytest.raises(WrongState):
            survey_file_take(survey_file=again, keep_good_rows=False, stamp=build.stamp())


def test_it_may_be_taken_again_after_it_was_taken_back():
    row = tried()
    taken = survey_file_take(survey_file=row, keep_good_rows=False, stamp=build.stamp())
    performed(taken)
    survey_import_undo(imported=taken, stamp=build.stamp(reason="Wrong year."))
    again = survey_file_take(survey_file=SurveyFile.objects.get(), keep_good_rows=False, stamp=build.stamp())
    performed(again)
    assert again.surveys_added == 2


def test_it_is_not_taken_before_it_was_tried():
    with pytest.raises(WrongState):
        survey_file_take(survey_file=matched(), keep_good_rows=True, stamp=build.stamp())
    with pytest.raises(WrongState):
        survey_file_try(survey_file=handed(theirs()), stamp=build.stamp())


def test_it_is_not_taken_where_nothing_of_it_can_be():
    row = tried(theirs({"PCT_COV": 350}))
    with pytest.raises(WrongState):
        survey_file_take(survey_file=row, keep_good_rows=True, stamp=build.stamp())


def test_other_matches_make_the_trial_void():
    row = tried()
    mapping = {**mapping_of(row), "columns": {**mapping_of(row)["columns"], "observer": {"constant": "B. Mole"}}}
    survey_file_match(survey_file=row, mapping_text=json.dumps(mapping), stamp=build.stamp())
    assert (row.trial, TrialRow.objects.count()) == (None, 0)


def test_the_same_matches_leave_the_trial():
    row = tried()
    survey_file_match(survey_file=row, mapping_text=json.dumps(mapping_of(row)), stamp=build.stamp())
    assert row.trial is not None


def test_a_mended_file_keeps_the_matches():
    row = tried(ONE_BAD)
    survey_file_replace(survey_file=row, looked=survey_file_look(TWO, "mended.geojson"), stamp=build.stamp())
    assert (row.file_name, row.trial, row.matched_at) == ("mended.geojson", None, build.NOW)
    performed(survey_file_try(survey_file=row, stamp=build.stamp()))
    assert trial_of(SurveyFile.objects.get()).surveys_added == 2


def test_another_layer_gets_another_suggestion_only_before_it_was_matched():
    data = geopackage_layers(few=1, many=2)
    row = handed(data, "two.gpkg")
    other = survey_file_look(data, "two.gpkg", layer="few")
    survey_file_replace(survey_file=row, looked=other, suggested={"columns": {"notes": "A"}}, stamp=build.stamp())
    assert (row.layer, row.mapping) == ("few", {"columns": {"notes": "A"}})


def test_it_names_every_fact_that_nothing_is_said_of():
    row = handed(theirs({"RECORDER": None, "HABIT": None}))
    with pytest.raises(Invalid) as refused:
        survey_file_match(survey_file=row, mapping_text=json.dumps(mapping_of(row)), stamp=build.stamp())
    assert [error.field for error in refused.value.errors] == ["columns.observer", "columns.growth_form"]


def test_it_asks_for_the_coordinate_system_and_the_location_of_a_table():
    row = handed(TABLE, "table.csv")
    columns = {
        name: given for name, given in mapping_of(row)["columns"].items() if name not in ("longitude", "latitude")
    }
    for changed, field in (({"columns": columns}, "columns.longitude"), ({"crs": ""}, "crs")):
        with pytest.raises(Invalid) as refused:
            fit_check(Found.of(row.found), {**mapping_of(row), **changed})
        assert field in [error.field for error in refused.value.errors]


def test_it_names_a_column_that_the_file_does_not_have():
    row = handed()
    mapping = {"columns": {**mapping_of(row)["columns"], "observer": "WHO"}}
    with pytest.raises(Invalid) as refused:
        survey_file_match(survey_file=row, mapping_text=json.dumps(mapping), stamp=build.stamp())
    assert [error.field for error in refused.value.errors] == ["columns.observer"]


def test_patches_may_be_called_by_the_number_of_their_row():
    trial = tried(theirs({"POLY_ID": None}, {"POLY_ID": None})).trial
    assert list(TrialRow.objects.filter(imported=trial).values_list("patch_code", flat=True)) == ["NEW-1", "NEW-2"]


def test_a_file_that_is_dropped_is_gone_and_recorded():
    row = tried()
    survey_file_drop(survey_file=row, stamp=build.stamp())
    assert (SurveyFile.objects.count(), TrialRow.objects.count()) == (0, 0)
    assert Change.objects.filter(verb="survey_file_drop").count() == 1


def test_a_file_that_was_taken_is_not_dropped():
    row = tried()
    survey_file_take(survey_file=row, keep_good_rows=False, stamp=build.stamp())
    with pytest.raises(WrongState):
        survey_file_drop(survey_file=row, stamp=build.stamp())


def test_bytes_of_an_old_file_are_removed_and_those_of_an_import_stay():
    row = tried()
    taken = survey_file_take(survey_file=row, keep_good_rows=False, stamp=build.stamp())
    performed(taken)
    later = build.NOW + timedelta(days=31)
    assert (survey_files_clean(at=build.NOW), survey_files_clean(at=later), survey_files_clean(at=later)) == (0, 1, 0)
    kept = {imported.dry_run: bytes(imported.file_bytes) for imported in SurveyImport.objects.all()}
    assert (bytes(SurveyFile.objects.get().file_bytes), kept, TrialRow.objects.count()) == (
        b"",
        {True: b"", False: TWO},
        0,
    )


def test_a_file_that_is_no_longer_kept_says_so():
    row = handed()
    survey_files_clean(at=build.NOW + timedelta(days=31))
    with pytest.raises(WrongState, match="no longer kept"):
        survey_file_match(survey_file=row, mapping_text=json.dumps(mapping_of(row)), stamp=build.stamp())
