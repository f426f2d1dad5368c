"""Handing a file in: kept as it came, queued, and refused at once where that can be told without reading it."""

import hashlib
from uuid import uuid4

import pytest

from orders.common.errors import Invalid
from orders.common.models import Change
from orders.common.models.run import QUEUED
from orders.sites.models import SurveyImport
from orders.sites.services import survey_import_ask
from tests import build
from tests.sites.imports.handed import features, row

pytestmark = pytest.mark.django_db
FILE = features(row())


def ask(data=FILE, file_name="survey.geojson", stamp=None, **asked):
    return survey_import_ask(data=data, file_name=file_name, stamp=stamp or build.stamp(), **asked)


def test_it_keeps_the_file_as_it_came():
    kept = SurveyImport.objects.get(pk=ask(dry_run=True, layer="weeds").pk)
    assert bytes(kept.file_bytes) == FILE
    assert kept.file_sha256 == hashlib.sha256(FILE).hexdigest()
    assert (kept.state, kept.dry_run, kept.keep_good_rows, kept.layer) == (QUEUED, True, False, "weeds")


def test_it_says_who_asked(user):
    asked = ask(stamp=build.stamp(by=user))
    assert (asked.asked_by, asked.asked_at) == (user, build.NOW)
    assert Change.objects.get(entity_id=asked.public_id).verb == "survey_import_ask"


def test_it_wakes_a_worker_after_the_commit(monkeypatch, django_capture_on_commit_callbacks):
    sent: list[str] = []
    monkeypatch.setattr("orders.common.runs._send", sent.append)
    with django_capture_on_commit_callbacks(execute=True):
        asked = ask()
        assert sent == []
    assert sent == [str(asked.public_id)]


def test_it_keeps_a_mapping_as_a_document():
    asked = ask(mapping_text='{"columns": {"patch_code": "POLY"}}')
    assert asked.mapping == {"columns": {"patch_code": "POLY"}}
    assert ask(mapping_text="  ").mapping is None


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        (r"C:\fakepath\survey.gpkg", "survey.gpkg"),
        ("../../etc/survey.csv", "survey.csv"),
        ("a" * 300 + ".kml", "a" * 196 + ".kml"),
        ("sur\0vey.zip", "survey.zip"),
        ("gr\udce9en.gpkg", "gr?en.gpkg"),
        ("", "survey"),
    ],
)
def test_it_keeps_the_plain_name_of_the_file(given, kept):
    assert ask(file_name=given).file_name == kept


def test_it_refuses_a_file_that_is_too_large(settings):
    settings.SURVEY_FILE_MAX_BYTES = len(FILE) - 1
    with pytest.raises(Invalid) as refusal:
        ask()
    assert [error.field for error in refusal.value.errors] == ["file"]
    assert SurveyImport.objects.count() == 0


def test_it_takes_a_file_of_just_the_size(settings):
    settings.SURVEY_FILE_MAX_BYTES = len(FILE)
    assert ask().state == QUEUED


@pytest.mark.parametrize(
    ("field", "asked"),
    [
        ("file", {"data": b""}),
        ("layer", {"layer": "x" * 121}),
        ("layer", {"layer": "we\0eds"}),
        ("layer", {"layer": "we\udce9eds"}),
        ("mapping", {"mapping_text": "{"}),
        ("mapping", {"mapping_text": "[" * 150_000}),
        ("mapping", {"mapping_text": '{"name": "' + "x" * 200_000 + '"}'}),
        ("mapping", {"mapping_text": '{"columns": {"pach_code": "A"}}'}),
        ("mapping", {"mapping_text": '{"columns": {"notes": {"constant": NaN}}}'}),
        ("mapping", {"mapping_text": '{"columns": {"notes": {"constant": 1e999}}}'}),
        ("mapping", {"mapping_text": '{"columns": {"notes": {"constant": "a\\u0000b"}}}'}),
        ("mapping", {"mapping_text": '{"columns": {"notes": {"constant": "\\ud800"}}}'}),
        ("mapping", {"mapping_text": '{"columns": {"notes": {"constant": ' + "9" * 5000 + "}}}"}),
    ],
)
def test_it_refuses_at_once_what_cannot_be_read(field, asked):
    with pytest.raises(Invalid) as refusal:
        ask(**asked)
    assert [error.field for error in refusal.value.errors] == [field]
    assert SurveyImport.objects.count() == 0


def test_it_takes_the_same_request_once():
    public_id = uuid4()
    assert ask(public_id=public_id) == ask(public_id=public_id)
    assert SurveyImport.objects.get().public_id == public_id


@pytest.mark.parametrize("other", [{"data": FILE + b" "}, {"dry_run": True}, {"layer": "weeds"}])
def test_it_refuses_another_request_with_the_same_id(other):
    public_id = uuid4()
    ask(public_id=public_id)
    with pytest.raises(Invalid, match="this id"):
        ask(**{"public_id": public_id, **other})


def test_it_leaves_the_bytes_in_the_database_until_they_are_asked_for():
    ask()
    assert SurveyImport.objects.get().get_deferred_fields() == {"file_bytes"}
