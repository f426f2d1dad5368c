"""Survey files handed in by the API."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from orders.common.clock import now
from orders.common.runs import run_claim, run_perform
from orders.sites.models import Survey, SurveyImport
from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db
KEY = {"Idempotency-Key": "import-of-october"}


def _file(**facts):
    properties = {
        "site_code": "KF",
        "patch_code": "N-1",
        "species": "EUFO",
        "growth_form": "ground cover",
        "observed_on": "2026-10-12",
        "observer": "A. Surveyor",
        "cover_percent": 40,
        **facts,
    }
    feature = {"type": "Feature", "properties": properties, "geometry": build.square()}
    content = json.dumps({"type": "FeatureCollection", "features": [feature]}).encode()
    return SimpleUploadedFile("october.geojson", content)


@pytest.fixture
def site():
    build.SpeciesFactory(code="EUFO")
    build.GrowthFormFactory(code="ground cover")
    return build.SiteFactory(code="KF", boundary=build.square(lon=-85.8, lat=38.1, side=0.2))


def _send(caller, *, key=KEY, **form):
    return caller.post("/api/survey-imports", {"file": _file(), **form}, format="multipart", headers=key)


def _work(reply):
    run = SurveyImport.objects.get(public_id=reply.json()["id"])
    attempt = run_claim(run, at=now())
    assert attempt is not None
    run_perform(run, attempt, clock=now)


def test_it_queues_the_file_and_says_where_to_look(desk, site):
    reply = _send(desk)
    assert (reply.status_code, reply.json()["state"], reply.json()["file_name"]) == (202, "queued", "october.geojson")
    assert desk.get(reply.headers["Location"]).json()["id"] == reply.json()["id"]
    assert Survey.objects.count() == 0


def test_it_tells_what_came_of_each_row(desk, site):
    reply = _send(desk)
    _work(reply)
    told = desk.get(reply.headers["Location"]).json()
    assert (told["state"], told["rows_read"], told["errors"]) == ("done", 1, [])
    assert Survey.objects.count() == told["surveys_added"] == 1


def test_it_adds_nothing_in_a_dry_run(desk, site):
    _work(_send(desk, dry_run="true"))
    assert Survey.objects.count() == 0


def test_it_names_the_row_and_the_field_of_an_error(desk, site):
    reply = _send(desk, file=_file(cover_percent=140))
    _work(reply)
    told = desk.get(reply.headers["Location"]).json()
    assert told["refused"]
    assert [(error["row"], error["field"]) for error in told["errors"]] == [(1, "cover_percent")]


def test_it_takes_the_same_file_once_for_one_key(desk, site):
    first, again = _send(desk), _send(desk)
    assert first.json() == again.json()
    assert again.headers["Idempotent-Replayed"] == "true"
    assert SurveyImport.objects.count() == 1


def test_it_refuses_another_file_under_the_same_key(desk, site):
    _send(desk)
    reply = _send(desk, file=_file(cover_percent=20))
    assert (reply.status_code, reply.json()["code"]) == (422, "key_used_otherwise")


def test_it_takes_the_id_that_the_sender_made(desk, site):
    reply = _send(desk, id="1a0e5d0e-5c1c-4d3c-9a55-0c1f6f6a7c11")
    assert reply.json()["id"] == "1a0e5d0e-5c1c-4d3c-9a55-0c1f6f6a7c11"


@pytest.mark.parametrize(
    ("form", "field"),
    [
        ({"file": SimpleUploadedFile("empty.geojson", b"")}, "file"),
        ({"mapping": "{"}, "mapping"),
        ({"mapping_file": SimpleUploadedFile("map.json", b"\xff\xfe\x00")}, "mapping_file"),
        ({"dry_run": "maybe"}, "dry_run"),
        ({"folder": "x"}, "folder"),
        ({"id": ""}, "id"),
    ],
)
def test_it_names_what_is_wrong_with_the_form(desk, site, form, field):
    reply = _send(desk, **form)
    assert (reply.status_code, error_fields(reply)) == (400, [field])
    assert SurveyImport.objects.count() == 0


def test_it_takes_a_mapping_as_a_file_or_as_text(desk, site):
    mapping = json.dumps({"columns": {"patch_code": "patch_code"}})
    for key, form in (("first-key", {"mapping": mapping}), ("other-key", {"mapping_file": _text(mapping)})):
        reply = _send(desk, key={"Idempotency-Key": key}, **form)
        assert reply.status_code == 202, reply.json()
    assert [run.mapping for run in SurveyImport.objects.all()] == [json.loads(mapping)] * 2


def _text(text):
    return SimpleUploadedFile("map.json", text.encode())


def test_it_wants_a_form(desk, site):
    reply = desk.send("/api/survey-imports", {"file": "x"})
    assert (reply.status_code, reply.json()["code"]) == (415, "unsupported_media_type")


def test_it_refuses_a_file_that_is_too_large_before_it_reads_it(desk, settings):
    settings.SURVEY_FILE_MAX_BYTES = -(1024 * 1024) + 100
    reply = _send(desk)
    assert (reply.status_code, reply.json()["code"]) == (413, "payload_too_large")


def test_it_lists_the_newest_first_without_the_findings(desk, site):
    for name in ("first.geojson", "second.geojson"):
        build.SurveyImportFactory(file_name=name)
    rows = desk.rows("/api/survey-imports")
    assert [row["file_name"] for row in rows] == ["second.geojson", "first.geojson"]
    assert "errors" not in rows[0]


def test_it_takes_an_import_back(desk, site):
    reply = _send(desk)
    _work(reply)
    undone = desk.send(f"{reply.headers['Location']}/undo", {"reason": "Wrong month."})
    assert (undone.status_code, undone.json()["surveys_voided"]) == (200, 1)
    assert [patch["code"] for patch in undone.json()["patches_bare"]] == ["N-1"]
    again = desk.send(f"{reply.headers['Location']}/undo", {"reason": "Again."})
    assert again.status_code == 409
