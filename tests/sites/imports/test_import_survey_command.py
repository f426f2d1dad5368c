"""manage.py import_survey."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from orders.sites.models import Survey, SurveyImport
from tests import build
from tests.sites.geofiles.made import SMALL
from tests.sites.imports.handed import CSV_HEADING, features, row

pytestmark = pytest.mark.django_db
BAD_CSV = f'{CSV_HEADING}\n\nMILL,P1,2026-05-01,Ada,EUFO,herb,140,"{SMALL.wkt}"\n'


@pytest.fixture
def run(tmp_path):
    """Run the command on a file of this content; returns what it said, and what it complained of."""

    def run(content, *options, name="survey.geojson"):
        path = tmp_path / name
        path.write_bytes(content)
        out, errors = StringIO(), StringIO()
        try:
            call_command("import_survey", str(path), *options, stdout=out, stderr=errors)
        except CommandError as error:
            errors.write(f"{error.returncode}: {error}")
        return out.getvalue(), errors.getvalue()

    return run


def test_it_imports_and_counts(mill, run):
    said, complained = run(features(row()))
    assert complained == ""
    lines = said.splitlines()
    assert lines[0] == "Reading the file ..."
    assert lines[-2:] == [
        "Writing surveys: 1 of 1",
        "Rows read 1, added 1, known already 0; surveys 1, new patches 1.",
    ]
    assert len(set(lines)) == len(lines)
    assert Survey.objects.count() == 1


def test_it_names_each_error_by_row_and_line(mill, run):
    _, complained = run(BAD_CSV.encode(), name="survey.csv")
    assert complained.splitlines() == [
        "row 2 (line 3), cover_percent: 140 is not from 0 to 100.",
        "1: The file was refused. Nothing was added.",
    ]
    assert Survey.objects.count() == 0


def test_it_adds_nothing_in_a_dry_run(mill, run):
    said, complained = run(features(row()), "--dry-run")
    assert (said.splitlines()[-1], complained) == (
        "Rows read 1, would be added 1, known already 0; surveys 1, new patches 1.",
        "",
    )
    assert Survey.objects.count() == 0


def test_it_keeps_good_rows(mill, run):
    _, complained = run(features(row(), row(patch_code="P2", cover_percent=101)), "--keep-good-rows")
    assert complained.splitlines() == ["row 2, cover_percent: 101 is not from 0 to 100."]
    assert Survey.objects.count() == 1


def test_it_acts_in_the_name_of_a_user(mill, run, user):
    run(features(row()), "--as", user.username)
    assert SurveyImport.objects.get().asked_by == user


def test_it_reads_through_a_mapping(mill, run, tmp_path):
    mapping = tmp_path / "mapping.json"
    mine = {name: name for name in row() if name != "patch_code"}
    mapping.write_text(json.dumps({"columns": {**mine, "patch_code": "POLY"}}))
    _, complained = run(features(row(patch_code=None, POLY="P7")), "--mapping", str(mapping))
    assert complained == ""
    assert Survey.objects.get().patch.code == "P7"


def test_it_tells_what_was_noted(mill, run):
    build.PatchFactory(site=mill, code="p1")
    said, _ = run(features(row()))
    assert "Note: row 1, patch_code: P1 becomes a patch of its own beside p1" in said


@pytest.mark.parametrize(
    ("options", "complaint"),
    [
        (["--as", "nobody"], "1: There is no user nobody."),
        (["--mapping", "/nowhere/mapping.json"], "1: /nowhere/mapping.json cannot be read: No such file or directory."),
    ],
)
def test_it_refuses_options_that_lead_nowhere(mill, run, options, complaint):
    assert run(features(row()), *options) == ("", complaint)
    assert SurveyImport.objects.count() == 0


def test_it_refuses_a_mapping_that_is_not_text(mill, run, tmp_path):
    mapping = tmp_path / "mapping.json"
    mapping.write_bytes(b"\xff\xfe{")
    assert "is not text in UTF-8" in run(features(row()), "--mapping", str(mapping))[1]


def test_it_says_what_is_wrong_with_the_request(mill, run):
    _, complained = run(b"")
    assert complained == "1: The file was not taken. file: The file is empty."


def test_it_says_that_there_is_no_such_file():
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("import_survey", "/nowhere/survey.gpkg")
