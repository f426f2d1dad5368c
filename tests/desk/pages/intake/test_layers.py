"""A file of several layers is taken one layer after another, and handed in once."""

import json
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from orders.sites.models import Survey, SurveyFile, SurveyImport
from orders.sites.services import survey_import_undo
from orders.sites.services.survey_files import survey_file_match, survey_file_take, survey_file_try, survey_files_clean
from orders.sites.survey_file_selectors import layer_states
from tests import build
from tests.desk.pages.intake.sent_form import sent_form
from tests.sites.files.made import geopackage_layers, mapping_of, performed, trial_of, tried

pytestmark = pytest.mark.django_db


def layered(**changed):
    """Two layers that differ in their patches, and one without rows."""
    return geopackage_layers(north=1, south=1, spare=0, of={"south": {"POLY_ID": "B-1", "HABIT": "CARPETY", **changed}})


@pytest.fixture
def north():
    return tried(layered(), "layers.gpkg")


def taken_of(row):
    taken = survey_file_take(survey_file=row, keep_good_rows=True, stamp=build.stamp())
    performed(taken)
    return taken


def _page(client, name, row):
    return client.get(reverse(name, args=[row.public_id])).content.decode()


def _go_on(client, row, layer="south", **how):
    return client.post(reverse("survey-file-layer", args=[row.public_id]), {"layer": layer}, **how)


def states(row):
    return [
        (state.name, state.is_here, state.is_taken, state.file is not None, state.is_left)
        for state in layer_states(row)
    ]


def test_layers_that_are_not_read_are_told_before_and_after(desk, north):
    told = "Only the layer north is read here. Not taken yet: south (1 row)."
    assert told in _page(desk, "survey-file", north)
    assert told in _page(desk, "survey-file-look", north)
    page = _page(desk, "survey-import", taken_of(north))
    assert (told in page, "go on with the next layer without handing it in again" in page) == (True, True)
    assert reverse("survey-file-layer", args=[north.public_id]) in page


def test_the_next_layer_is_read_from_the_file_that_is_kept(desk, north):
    taken = taken_of(north)
    assert states(north) == [
        ("north", True, True, False, False),
        ("south", False, False, False, True),
        ("spare", False, False, False, False),
    ]
    page = _go_on(desk, north, follow=True).content.decode()
    assert "This is the layer south of the same file. The matches of the layer north are filled in." in page
    south = SurveyFile.objects.get(layer="south")
    assert (south.file_name, bytes(south.file_bytes)) == ("layers.gpkg", bytes(north.file_bytes))
    assert reverse("survey-import", args=[taken.public_id]) in page
    sent = sent_form(page, "matches")
    desk.post(reverse("survey-file", args=[south.public_id]), {**sent, "step": "match", "value-growth_form-0": "shrub"})
    south.refresh_from_db()
    performed(trial_of(south))
    after = _page(desk, "survey-import", taken_of(south))
    assert "No other layer is left to take." in after
    assert sorted(Survey.objects.values_list("patch__code", flat=True)) == ["A-1", "B-1"]


def test_matches_are_carried_on_with_the_words_that_they_know(desk, north):
    document = mapping_of(north)
    document["columns"]["observer"] = {"constant": "Ada Vole"}
    survey_file_match(survey_file=north, mapping_text=json.dumps(document), stamp=build.stamp())
    performed(survey_file_try(survey_file=north, stamp=build.stamp()))
    north.refresh_from_db()
    taken_of(north)
    _go_on(desk, north)
    columns = mapping_of(SurveyFile.objects.get(layer="south"))["columns"]
    assert columns["observer"] == {"constant": "Ada Vole"}
    words = {"mat": "ground cover", "CARPETY": "ground cover"}  # the latter comes near
    assert columns["growth_form"] == {"column": "HABIT", "values": words}
    assert SurveyFile.objects.get(layer="south").matched_at is None


def test_other_columns_are_matched_anew(desk):
    row = tried(layered(RECORDER=None), "layers.gpkg")
    taken_of(row)
    page = _go_on(desk, row, follow=True).content.decode()
    assert "Its columns are not those of the layer north, so that the matches are suggested anew." in page
    assert mapping_of(SurveyFile.objects.get(layer="south"))["columns"]["species"] == "SCI_NAME"


def test_a_layer_that_is_on_its_way_is_not_begun_twice(desk, north):
    taken_of(north)
    first = _go_on(desk, north)
    assert _go_on(desk, north).url == first.url
    assert SurveyFile.objects.count() == 2
    south = SurveyFile.objects.get(layer="south")
    page = _page(desk, "survey-import", SurveyImport.objects.get(dry_run=False))
    assert reverse("survey-file", args=[south.public_id]) in page
    assert "No other layer is left to take." in page


def test_a_layer_that_was_taken_is_known_when_the_file_comes_again(desk, north):
    taken_of(north)
    sent = {"file": SimpleUploadedFile("again.gpkg", bytes(north.file_bytes))}
    page = desk.post(reverse("survey-file-new"), sent, follow=True).content.decode()
    assert "Rows that were taken then will be known." in page
    again = SurveyFile.objects.get(file_name="again.gpkg")
    assert states(again)[0] == ("north", True, True, False, False)
    other = reverse("survey-file-replace", args=[again.public_id])
    assert "Read this one instead" in page
    desk.post(other, {"layer": "south"})
    again.refresh_from_db()
    assert (again.layer, states(again)[0][2]) == ("south", True)


def test_a_layer_that_was_taken_back_is_left_again(desk, north):
    taken = taken_of(north)
    _go_on(desk, north)
    south = SurveyFile.objects.get(layer="south")
    assert states(south)[0] == ("north", False, True, False, False)
    survey_import_undo(imported=taken, stamp=build.stamp(reason="Wrong year."))
    assert states(south)[0] == ("north", False, False, False, True)


def test_a_file_that_is_no_longer_kept_has_to_be_handed_in_again(desk, north):
    taken = taken_of(north)
    survey_files_clean(at=build.NOW + timedelta(days=31))
    page = _page(desk, "survey-import", taken)
    assert "The file itself is no longer kept: hand it in again for them." in page
    assert "Go on with this layer" not in page
    assert _go_on(desk, north).status_code == 409
    assert SurveyFile.objects.count() == 1


def test_a_layer_that_the_file_has_not_is_refused(desk, north):
    taken_of(north)
    assert _go_on(desk, north, "east").status_code == 400
    assert SurveyFile.objects.count() == 1


def test_going_on_is_the_desks(client, north):
    taken = taken_of(north)
    client.force_login(build.UserFactory(roles=["finance"]))
    assert "Go on with this layer" not in _page(client, "survey-import", taken)
    assert _go_on(client, north).status_code == 403
    assert SurveyFile.objects.count() == 1


def test_a_file_of_one_layer_speaks_of_none(desk):
    row = tried()
    assert 'id="layers"' not in _page(desk, "survey-file-look", row)
    assert 'id="layers"' not in _page(desk, "survey-import", taken_of(row))


def test_the_list_names_the_layer(desk, north):
    taken_of(north)
    _go_on(desk, north)
    page = desk.get(reverse("survey-files")).content.decode()
    assert ("layer north" in page, "layer south" in page) == (True, True)
