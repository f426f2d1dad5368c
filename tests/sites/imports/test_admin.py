"""The administrator's pages for survey files and surveys."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from orders.common.models import Change
from orders.common.models.run import QUEUED
from orders.sites.admin_imports import FINDINGS_SHOWN
from orders.sites.models import Survey, SurveyImport
from tests import build
from tests.sites.geofiles.made import GOOD
from tests.sites.imports.handed import bring, features, row

pytestmark = pytest.mark.django_db
ADD = reverse("admin:sites_surveyimport_add")
IMPORTS = reverse("admin:sites_surveyimport_changelist")
SURVEYS = reverse("admin:sites_survey_changelist")
BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture
def administrator(client):
    user = build.UserFactory(roles=["administrator"], is_staff=True, is_superuser=True)
    client.force_login(user, backend=BACKEND)
    return user


def upload(content=None, name="survey.geojson"):
    return SimpleUploadedFile(name, features(row()) if content is None else content)


def page_of(imported):
    return reverse("admin:sites_surveyimport_change", args=[imported.pk])


def act(client, where, action, row, reason):
    given = {"action": action, "_selected_action": [row.pk], "reason": reason}
    return client.post(where, given, follow=True).content.decode()


def test_it_queues_a_file_that_is_handed_in(client, administrator):
    mapping = upload(json.dumps({"columns": {name: name for name in GOOD}}).encode(), "mapping.json")
    answer = client.post(ADD, {"file": upload(), "mapping": mapping, "dry_run": "on", "layer": "weeds"})
    imported = SurveyImport.objects.get()
    assert answer.url == page_of(imported)
    assert (imported.state, imported.dry_run, imported.keep_good_rows, imported.layer) == (QUEUED, True, False, "weeds")
    assert (imported.asked_by, bytes(imported.file_bytes)) == (administrator, features(row()))
    assert imported.mapping == {"columns": {name: name for name in GOOD}}


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({}, "This field is required."),
        ({"file": b""}, "The submitted file is empty."),
        ({"file": b"{}", "mapping": b"\xff\xfe{"}, "This is not text in UTF-8."),
        ({"file": b"{}", "mapping": b'{"colums": {}}'}, "did you mean columns?"),
    ],
)
def test_it_tells_on_the_form_what_is_wrong(client, administrator, given, message):
    answer = client.post(ADD, {name: upload(content, f"{name}.json") for name, content in given.items()})
    assert message in answer.content.decode()
    assert SurveyImport.objects.count() == 0


def test_it_tells_on_the_form_that_a_file_is_too_large(client, administrator, settings):
    settings.SURVEY_FILE_MAX_BYTES = 10
    assert "The file is larger than" in client.post(ADD, {"file": upload()}).content.decode()


def test_it_shows_the_form(client, administrator):
    shown = client.get(ADD).content.decode()
    assert 'enctype="multipart/form-data"' in shown
    assert all(f'name="{name}"' in shown for name in ("file", "mapping", "layer", "dry_run", "keep_good_rows"))


def test_it_shows_what_came_of_an_import(client, administrator, mill):
    imported = bring(features(row(), row(patch_code="P<2>", cover_percent=140, color="green")))
    shown = client.get(page_of(imported)).content.decode()
    assert "row 2, cover_percent: 140 is not from 0 to 100." in shown
    assert "file, columns: These columns are not used: color." in shown
    assert "refused" in shown


def test_it_shows_that_more_was_found_than_fits(client, administrator):
    found = {"row": 1, "line": None, "field": "notes", "code": "x", "message": "<b>"}
    imported = build.SurveyImportFactory(errors=[found] * (FINDINGS_SHOWN + 3))
    shown = client.get(page_of(imported)).content.decode()
    assert shown.count("row 1, notes: &lt;b&gt;") == FINDINGS_SHOWN
    assert "and 3 more" in shown


def test_it_lists_imports_without_reading_their_files(client, administrator, django_assert_max_num_queries):
    build.SurveyImportFactory.create_batch(5)
    with django_assert_max_num_queries(9) as asked:
        shown = client.get(IMPORTS).content.decode()
    assert shown.count("survey.geojson") >= 5
    assert not any("file_bytes" in query["sql"] for query in asked.captured_queries)


def test_it_undoes_an_import_with_a_reason(client, administrator, mill):
    imported = bring()
    shown = act(client, IMPORTS, "undo", imported, "wrong county")
    assert "1 surveys voided. Patches without a survey now: MILL P1." in shown
    assert Survey.objects.get().void_reason == "wrong county"
    assert Change.objects.get(verb="survey_import_undo").actor == administrator


def test_it_does_not_undo_without_a_reason(client, administrator, mill):
    assert "Say why." in act(client, IMPORTS, "undo", bring(), "")
    assert Survey.objects.get().voided_at is None


def test_it_voids_a_survey_with_a_reason(client, administrator):
    assert "voided." in act(client, SURVEYS, "void", build.SurveyFactory(), "taken by night")
    assert Survey.objects.get().void_reason == "taken by night"


def test_it_says_why_a_survey_cannot_be_voided(client, administrator):
    survey = build.SurveyFactory(voided_at=build.NOW, void_reason="taken by night")
    assert "void already" in act(client, SURVEYS, "void", survey, "again")


def test_it_shows_a_survey_with_its_components_and_lets_nobody_edit_it(client, administrator):
    where = reverse("admin:sites_survey_change", args=[build.SurveyFactory().pk])
    shown = client.get(where).content.decode()
    assert "wintercreeper" in shown
    assert 'name="observer"' not in shown
    assert client.post(where, {"observer": "Somebody else"}).status_code == 403
    assert client.get(reverse("admin:sites_survey_add")).status_code == 403


@pytest.mark.parametrize(("query", "count"), [("P1", 1), ("Vole", 1), ("Badger", 0), ("MILL", 1)])
def test_it_finds_surveys(client, administrator, query, count):
    build.SurveyFactory(patch__code="P1", patch__site__code="MILL", observer="Ada Vole")
    assert client.get(SURVEYS, {"q": query}).context["cl"].result_count == count


def test_it_filters_surveys_by_species(client, administrator):
    creeper, rose = build.SpeciesFactory(code="EUFO"), build.SpeciesFactory(code="ROMU")
    build.SurveyFactory(components=[{"species": creeper}])
    for kind, count in ((creeper, 1), (rose, 0)):
        answer = client.get(SURVEYS, {"components__species__id__exact": kind.pk})
        assert answer.context["cl"].result_count == count


@pytest.mark.parametrize("roles", [[], ["finance"], ["coordinator"]])
def test_it_is_for_administrators(client, roles):
    imported = build.SurveyImportFactory()
    client.force_login(build.UserFactory(roles=roles, is_staff=True), backend=BACKEND)
    for where in (ADD, IMPORTS, SURVEYS, page_of(imported)):
        assert client.get(where).status_code == 403
    assert client.post(ADD, {"file": upload()}).status_code == 403
