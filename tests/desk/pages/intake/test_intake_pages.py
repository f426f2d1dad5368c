"""Bringing a survey file in from the screen alone: hand in, match, look, take, take back."""

import csv
import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from orders.sites.models import Survey, SurveyFile, SurveyImport, SurveyMapping
from orders.sites.services import survey_hold_register
from orders.sites.services.survey_files import survey_file_take
from orders.sites.services.surveys import _HOLDS
from tests import build
from tests.desk.pages.intake.sent_form import sent_form
from tests.sites.files.made import ONE_BAD, TABLE, TWO, geopackage_layers, handed, mapping_of, performed, theirs, tried

pytestmark = pytest.mark.django_db


def _send(client, data, name="theirs.geojson"):
    return client.post(reverse("survey-file-new"), {"file": SimpleUploadedFile(name, data)})


def _at(name, row):
    return reverse(name, args=[row.public_id])


def _form(client, row):
    return sent_form(client.get(_at("survey-file", row)).content.decode(), "matches")


def _match(client, row, **changed):
    return client.post(_at("survey-file", row), {**_form(client, row), "step": "match", **changed})


def test_a_file_of_unknown_origin_comes_in_without_a_shell(desk):
    assert _send(desk, TWO).url == _at("survey-file", SurveyFile.objects.get())
    row = SurveyFile.objects.get()
    assert _match(desk, row).url == _at("survey-file-look", row)
    performed(SurveyImport.objects.get())
    assert "Take 2 surveys" in desk.get(_at("survey-file-look", row)).content.decode()
    reply = desk.post(_at("survey-file-take", row))
    taken = SurveyImport.objects.get(dry_run=False)
    performed(taken)
    assert reply.url == reverse("survey-import", args=[taken.public_id])
    page = desk.get(reply.url).content.decode()
    assert ("Taken" in page, "Take it back" in page, Survey.objects.count()) == (True, True, 2)


@pytest.mark.parametrize(
    ("data", "words"), [(b"%PDF-1.7", "format of this file is not known"), (b"", "The file is empty")]
)
def test_it_says_beside_the_form_why_a_file_is_not_taken(desk, data, words):
    reply = _send(desk, data, "plan.pdf")
    assert (reply.status_code, words in reply.content.decode(), SurveyFile.objects.count()) == (400, True, 0)
    assert desk.post(reverse("survey-file-new")).status_code == 400


@pytest.mark.parametrize("name", ["survey-file-new", "survey-files", "survey-export", "survey-mappings"])
@pytest.mark.parametrize(("role", "reads"), [("finance", True), ("crew_lead", False)])
def test_the_office_reads_and_the_desk_writes(client, name, role, reads):
    client.force_login(build.UserFactory(roles=[role]))
    opened = reads and name != "survey-file-new"
    assert client.get(reverse(name)).status_code == (200 if opened else 403)


@pytest.mark.parametrize("name", ["survey-file", "survey-file-look", "survey-file-shapes", "survey-file-findings"])
def test_a_file_on_its_way_is_the_desks(client, name):
    row = tried()
    client.force_login(build.UserFactory(roles=["finance"]))
    assert client.get(_at(name, row)).status_code == 403
    for write in ("survey-file-take", "survey-file-drop", "survey-file-try", "survey-file-replace"):
        assert client.post(_at(write, row)).status_code == 403


def test_the_suggestion_is_filled_in_and_said_to_be_one(desk):
    page = desk.get(_at("survey-file", handed())).content.decode()
    assert "What is filled in is a suggestion" in page
    sent = _form(desk, SurveyFile.objects.get())
    assert (sent["from-site_code"], sent["from-observed_on"], sent["format-observed_on"]) == (
        "PROPERTY",
        "SEEN",
        "%m/%d/%Y",
    )
    assert (sent["theirs-growth_form-0"], sent["value-growth_form-0"]) == ("MAT", "ground cover")


def test_what_is_missing_is_named_at_its_place(desk):
    row = handed()
    reply = _match(desk, row, **{"from-observer": ""})
    assert reply.status_code == 400
    assert 'id="error-observer"' in reply.content.decode()
    assert SurveyImport.objects.count() == 0


def test_what_all_rows_share_is_said_once(desk):
    row = handed()
    fixed = "= the same for all rows"
    _match(desk, row, **{"from-observer": fixed, "fixed-observer": "Ada Vole"})
    row.refresh_from_db()
    assert mapping_of(row)["columns"]["observer"] == {"constant": "Ada Vole"}


def test_words_are_matched_one_by_one(desk):
    row = handed(theirs({"HABIT": "BRAMBLY"}))
    shown = desk.post(_at("survey-file", row), {**_form(desk, row), "step": "show"}).content.decode()
    assert "1 not matched" in shown
    _match(desk, row, **{"value-growth_form-0": "shrub"})
    row.refresh_from_db()
    assert mapping_of(row)["columns"]["growth_form"]["values"] == {"BRAMBLY": "shrub"}


def test_a_column_chosen_just_now_gets_its_words_and_format(desk):
    row = handed()
    sent = {**_form(desk, row), "from-growth_form": "", "from-observed_on": ""}
    bare = desk.post(_at("survey-file", row), {**sent, "step": "show"}).content.decode()
    assert "theirs-growth_form-0" not in bare
    again = {name: value for name, value in sent.items() if "growth_form" not in name and "observed_on" not in name}
    shown = desk.post(
        _at("survey-file", row), {**again, "from-growth_form": "HABIT", "from-observed_on": "SEEN", "step": "show"}
    ).content.decode()
    assert 'name="theirs-growth_form-0" value="MAT"' in shown
    assert '<option value="%m/%d/%Y" selected>' in shown


def test_a_row_may_hold_one_plant_more(desk):
    row = handed()
    more = desk.post(_at("survey-file", row), {**_form(desk, row), "plants_more": "1"}).content.decode()
    assert ("Plant 2 of the row" in more, 'id="from-species_2"' in more) == (True, True)


def test_matches_are_kept_by_name_and_offered_again(desk):
    row = handed()
    sent = {**_form(desk, row), "step": "keep", "mapping_name": "The county"}
    assert desk.post(_at("survey-file", row), sent).status_code == 200
    assert desk.post(_at("survey-file", row), sent).status_code == 400
    assert desk.post(_at("survey-file", row), {**sent, "mapping_replace": "1"}).status_code == 200
    kept = SurveyMapping.objects.get()
    page = desk.get(_at("survey-file", handed(theirs())), {"saved": str(kept.public_id)}).content.decode()
    assert "The matches kept as The county are filled in" in page
    assert desk.post(_at("survey-mapping-remove", kept), {"version": kept.version}).status_code == 302
    assert SurveyMapping.objects.count() == 0


def test_a_table_asks_where_its_coordinates_count_from(desk):
    row = handed(TABLE, "table.csv")
    page = desk.get(_at("survey-file", row)).content.decode()
    assert ('name="crs"' in page, 'value="EPSG:4326"' in page, 'id="from-longitude"' in page) == (True, True, True)
    assert 'id="crs-error"' in _match(desk, row, crs="").content.decode()


def test_another_layer_can_be_read(desk):
    row = handed(geopackage_layers(few=1, many=2), "two.gpkg")
    assert "The file has 2 layers" in desk.get(_at("survey-file", row)).content.decode()
    desk.post(_at("survey-file-replace", row), {"layer": "few"})
    row.refresh_from_db()
    assert (row.layer, row.found["rows"]) == ("few", 1)


def test_bad_rows_are_named_and_keep_the_file_out_unless_said(desk):
    row = tried(ONE_BAD)
    page = desk.get(_at("survey-file-look", row)).content.decode()
    assert "350 is not from 0 to 100" in page
    assert "Take the good rows only; 1 row stays out" in page
    assert desk.post(_at("survey-file-take", row)).url == _at("survey-file-look", row)
    assert desk.post(_at("survey-file-take", row), {"keep_good_rows": "1"}).url != _at("survey-file-look", row)


def test_findings_are_a_file_with_the_rows_own_values(desk):
    reply = desk.get(_at("survey-file-findings", tried(ONE_BAD)))
    rows = list(csv.DictReader(io.StringIO(reply.content.decode())))
    bad = next(row for row in rows if row["level"] == "error")
    assert (bad["row"], bad["field"], bad["code"], bad["PCT_COV"]) == (
        "2",
        "cover_percent",
        "cover_out_of_range",
        "350",
    )


def test_rows_are_listed_by_what_becomes_of_them(desk):
    row = tried(ONE_BAD)
    assert [each.number for each in desk.get(_at("survey-file-look", row), {"outcome": "bad"}).context["rows"]] == [2]
    assert [each.number for each in desk.get(_at("survey-file-look", row), {"row": "1"}).context["rows"]] == [1]


def test_the_map_is_told_the_rows_the_sites_and_what_is_held(desk):
    held = build.SurveyFactory(patch__site__code="MILLS")
    told = desk.get(_at("survey-file-shapes", tried(ONE_BAD))).json()
    assert [row["properties"]["outcome"] for row in told["rows"]] == ["new", "bad"]
    assert [site["properties"]["name"] for site in told["sites"]] == ["MILL"]
    assert [each["properties"]["name"] for each in told["held"]] == [f"MILLS {held.patch.code}"]


def test_a_mended_file_is_tried_at_once_by_the_same_matches(desk):
    row = tried(ONE_BAD)
    reply = desk.post(_at("survey-file-replace", row), {"file": SimpleUploadedFile("mended.geojson", TWO)})
    assert reply.url == _at("survey-file-look", row)
    table = {"file": SimpleUploadedFile("table.csv", TABLE)}
    assert desk.post(_at("survey-file-replace", row), table).url == _at("survey-file", row)


def test_an_import_is_taken_back_with_a_reason(desk):
    taken = survey_file_take(survey_file=tried(), keep_good_rows=False, stamp=build.stamp())
    performed(taken)
    assert desk.post(_at("survey-import-undo", taken)).status_code == 400
    assert desk.post(_at("survey-import-undo", taken), {"reason": "Wrong year."}).status_code == 302
    assert Survey.objects.filter(voided_at__isnull=True).count() == 0
    assert "Undone" in desk.get(_at("survey-import", taken)).content.decode()


def test_an_import_that_work_rests_on_stays_and_says_why(desk, monkeypatch):
    monkeypatch.setattr("orders.sites.services.surveys._HOLDS", dict(_HOLDS))
    taken = survey_file_take(survey_file=tried(), keep_good_rows=False, stamp=build.stamp())
    performed(taken)
    survey_hold_register("are on invented orders", lambda rows: rows[:1])
    reply = desk.post(_at("survey-import-undo", taken), {"reason": "Wrong year."})
    assert (reply.status_code, "1 of them are on invented orders" in reply.content.decode()) == (409, True)


def test_the_list_asks_the_database_the_same_number_of_times(desk):
    def counted():
        with CaptureQueriesContext(connection) as asked:
            assert desk.get(reverse("survey-files")).status_code == 200
        return len(asked)

    build.SurveyImportFactory(asked_by=build.UserFactory())
    handed()
    few = counted()
    for _ in range(9):
        build.SurveyImportFactory(asked_by=build.UserFactory())
        handed()
    assert counted() == few


def test_surveys_are_fetched_as_the_page_counts_them(desk):
    build.SurveyFactory(patch__site__code="FARM")
    asked = {"format": "csv", "which": "all"}
    assert desk.get(reverse("survey-export"), asked).context["count"] == 1
    reply = desk.get(reverse("survey-export-file"), asked)
    assert (reply["Content-Type"], reply.content.count(b"\r\n")) == ("text/csv", 2)
    assert desk.get(reverse("survey-export"), {"first": "2026-05-02", "last": "2026-05-01"}).status_code == 400


def test_empty_pages_say_what_belongs_there(desk):
    assert "No survey file yet" in desk.get(reverse("survey-files")).content.decode()
    assert "Nothing kept yet" in desk.get(reverse("survey-mappings")).content.decode()
    assert "No file answers this" in desk.get(reverse("survey-files"), {"text": "x"}).content.decode()
