"""The list of files that were handed in, and saved mappings."""

import json
from typing import Any

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.sites.models import SurveyMapping
from orders.sites.services.survey_files import survey_mapping_add, survey_mapping_edit, survey_mapping_remove
from orders.sites.survey_file_selectors import handed_in, handed_in_lines, mappings_for, trial_changes, trial_counts
from tests import build
from tests.sites.files.made import ONE_BAD, THEIRS, handed, trial_of, tried

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mill")]
MAPPING = {"columns": {"patch_code": "POLY_ID", "observer": "RECORDER"}}


def _lines(**asked):
    lines = handed_in_lines(handed_in(**asked))
    return [(line.state, str(line.file or (line.imported and line.imported.file_name))) for line in lines]


def test_it_lists_files_and_imports_the_newest_first():
    later, sooner = build.NOW.replace(hour=16), build.NOW.replace(hour=14)
    handed(at=later)
    build.SurveyImportFactory(file_name="old.csv", asked_at=sooner, state="done")
    tried(ONE_BAD, "bad.geojson")
    assert _lines() == [("waiting", "theirs.geojson"), ("waiting", "bad.geojson"), ("taken", "old.csv")]


def test_it_finds_files_by_state_and_by_text():
    cora = build.UserFactory(username="cora", first_name="Cora", roles=["coordinator"])
    handed(by=cora)
    ended: dict[str, dict[str, Any]] = {
        "a.csv": {"refused": True},
        "b.csv": {"dry_run": True},
        "c.csv": {"undone_at": build.NOW},
    }
    for name, facts in ended.items():
        build.SurveyImportFactory(file_name=name, state="done", **facts)
    build.SurveyImportFactory(file_name="d.csv", state="failed")
    build.SurveyImportFactory(file_name="e.csv")
    found = {state: _lines(state=state) for state in ("waiting", "refused", "checked", "undone", "broken", "working")}
    assert {state: [name for _, name in lines] for state, lines in found.items()} == {
        "waiting": ["theirs.geojson"],
        "refused": ["a.csv"],
        "checked": ["b.csv"],
        "undone": ["c.csv"],
        "broken": ["d.csv"],
        "working": ["e.csv"],
    }
    assert all(line[0] == state for state, lines in found.items() for line in lines)
    assert _lines(text="CORA") == [("waiting", "theirs.geojson")]
    assert _lines(text="d.c") == [("broken", "d.csv")]


def test_it_asks_the_database_the_same_number_of_times(django_assert_num_queries):
    for _ in range(3):
        handed()
        build.SurveyImportFactory(asked_by=build.UserFactory())
    with django_assert_num_queries(3):
        assert len(handed_in_lines(handed_in())) == 6


def test_it_counts_what_a_trial_would_change_by_site():
    trial = trial_of(tried(ONE_BAD))
    assert trial_counts(trial) == {"new": 1, "known": 0, "bad": 1, "left_out": 0}
    assert [(change.site_code, change.new, change.new_patches) for change in trial_changes(trial)] == [("MILL", 1, 1)]


def test_a_mapping_is_offered_where_the_file_has_its_columns():
    for name, columns in {"far": ["POLY_ID", "RECORDER", "X"], "near": list(THEIRS)}.items():
        survey_mapping_add(name=name, columns=columns, mapping_text=json.dumps(MAPPING), stamp=build.stamp())
    assert [row.name for row in mappings_for(THEIRS)] == ["near", "far"]
    assert mappings_for(["poly_id", "RECORDER"])
    assert mappings_for(["POLY_ID"]) == []


def test_a_name_belongs_to_one_mapping():
    survey_mapping_add(name="county", columns=["POLY_ID"], mapping_text=json.dumps(MAPPING), stamp=build.stamp())
    with pytest.raises(Invalid):
        survey_mapping_add(name="county", columns=["POLY_ID"], mapping_text=json.dumps(MAPPING), stamp=build.stamp())
    with pytest.raises(Invalid):
        survey_mapping_add(
            name="other", columns=["POLY_ID"], mapping_text='{"columns": {"nothing": "A"}}', stamp=build.stamp()
        )


def test_a_mapping_is_changed_and_removed_as_it_was_read():
    row = survey_mapping_add(name="county", columns=["POLY_ID"], mapping_text=json.dumps(MAPPING), stamp=build.stamp())
    survey_mapping_edit(row=row, expected=1, values={"name": "The county"}, stamp=build.stamp())
    with pytest.raises(VersionMismatch):
        survey_mapping_remove(row=row, expected=1, stamp=build.stamp())
    survey_mapping_remove(row=row, expected=2, stamp=build.stamp())
    assert SurveyMapping.objects.count() == 0
