"""Survey files looked into, mappings kept, and surveys as a file, by the API."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from orders.sites.models import SurveyFile, SurveyMapping
from tests import build
from tests.api.caller import error_fields
from tests.sites.files.made import TWO
from tests.sites.files.reading import remember

pytestmark = pytest.mark.django_db
MAPPING = {"name": "The county", "columns": ["POLY_ID"], "mapping": json.dumps({"columns": {"patch_code": "POLY_ID"}})}


@pytest.fixture(autouse=True)
def _program(monkeypatch):
    remember(monkeypatch)
    build.SpeciesFactory(code="EUFO", scientific_name="Euonymus fortunei")
    build.GrowthFormFactory(code="ground cover")
    build.SiteFactory(code="MILL", boundary=build.square(side=0.01))


def _send(caller, data=TWO, key="look-into-theirs"):
    body = {"file": SimpleUploadedFile("theirs.geojson", data)}
    return caller.post("/api/survey-files", body, format="multipart", headers={"Idempotency-Key": key})


def test_a_file_is_looked_into_and_nothing_is_imported(desk):
    reply = _send(desk)
    told = reply.json()
    assert (reply.status_code, told["found"]["rows"], told["matched_at"]) == (201, 2, None)
    assert told["mapping"]["columns"]["patch_code"] == "POLY_ID"
    assert desk.get(reply.headers["Location"]).json() == told
    assert [row["id"] for row in desk.rows("/api/survey-files")] == [told["id"]]


def test_the_same_request_is_looked_into_once(desk):
    assert _send(desk).json() == _send(desk).json()
    assert SurveyFile.objects.count() == 1


def test_what_is_suggested_is_what_an_import_takes(desk):
    told = _send(desk).json()
    body = {
        "file": SimpleUploadedFile("theirs.geojson", TWO),
        "mapping": json.dumps(told["mapping"]),
        "dry_run": "true",
    }
    reply = desk.post("/api/survey-imports", body, format="multipart", headers={"Idempotency-Key": "import-theirs"})
    assert (reply.status_code, reply.json()["dry_run"]) == (202, True)


def test_a_file_that_cannot_be_opened_is_refused(desk):
    reply = _send(desk, b"%PDF-1.7")
    assert (reply.status_code, error_fields(reply), SurveyFile.objects.count()) == (400, ["file"], 0)


def test_a_file_is_dropped(desk):
    told = _send(desk).json()
    assert desk.send(f"/api/survey-files/{told['id']}/drop").status_code == 200
    assert desk.get(f"/api/survey-files/{told['id']}").status_code == 404


def test_a_mapping_is_kept_called_otherwise_and_removed(desk):
    reply = desk.send("/api/survey-mappings", MAPPING)
    address = reply.headers["Location"]
    assert (reply.status_code, reply.json()["mapping"]) == (201, {"columns": {"patch_code": "POLY_ID"}})
    edited = desk.edit(address, {"name": "Pell County"}, etag=desk.get(address).headers["ETag"])
    assert (edited.status_code, [row["name"] for row in desk.rows("/api/survey-mappings")]) == (200, ["Pell County"])
    assert desk.send(f"{address}/remove").status_code == 200
    assert SurveyMapping.objects.count() == 0


def test_a_mapping_that_cannot_be_read_is_refused(desk):
    reply = desk.send("/api/survey-mappings", {**MAPPING, "mapping": '{"columns": {"nothing": "A"}}'})
    assert (reply.status_code, error_fields(reply)) == (400, ["mapping"])


@pytest.mark.parametrize("path", ["survey-files", "survey-mappings"])
def test_the_office_reads_what_only_the_desk_writes(finance, path):
    assert (finance.get(f"/api/{path}").status_code, finance.send(f"/api/{path}", MAPPING).status_code) == (200, 403)


@pytest.mark.parametrize(
    ("file_format", "media"),
    [
        ("geojson", "application/geo+json"),
        ("csv", "text/csv"),
        ("gpkg", "application/geopackage+sqlite3"),
        ("dwc-csv", "text/csv"),
        ("dwc-archive", "application/zip"),
    ],
)
def test_surveys_go_out_as_a_file(finance, file_format, media):
    build.SurveyFactory()
    reply = finance.get("/api/surveys/export", {"format": file_format, "which": "all", "from": "2026-10-01"})
    assert (reply.status_code, reply["Content-Type"], bool(reply.content)) == (200, media, True)


def test_surveys_of_some_sites_go_out(finance):
    one, _ = build.SurveyFactory(), build.SurveyFactory()
    reply = finance.get("/api/surveys/export", {"format": "geojson", "sites": str(one.patch.site.public_id)})
    assert [each["properties"]["patch_code"] for each in reply.json()["features"]] == [one.patch.code]


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({}, "format"),
        ({"format": "pdf"}, "format"),
        ({"format": "csv", "from": "May"}, "from"),
        ({"format": "csv", "from": "2026-05-02", "to": "2026-05-01"}, "to"),
        ({"format": "csv", "which": "some"}, "which"),
    ],
)
def test_a_wrong_question_names_its_field(finance, asked, field):
    reply = finance.get("/api/surveys/export", asked)
    assert (reply.status_code, error_fields(reply)) == (400, [field])


def test_crew_leads_fetch_no_file(lead):
    assert lead.get("/api/surveys/export", {"format": "csv"}).status_code == 403
