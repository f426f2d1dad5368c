"""What of a file is not read is told before it is taken and after; and tables with commas in their numbers."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from orders.sites.models import Survey, SurveyFile
from orders.sites.services.survey_files import survey_file_take
from tests import build
from tests.desk.pages.intake.sent_form import sent_form
from tests.sites.files.made import (
    ONE_BAD,
    TABLE,
    handed,
    mapping_of,
    performed,
    theirs,
    trial_of,
    tried,
)

pytestmark = pytest.mark.django_db

UNUSED = "These columns are not used: FLAGGED. What stands in them is not taken."
COMMAS = (
    "\ufeffProperty;Nr code;East;North;Date;Observer;Plant;Form;Cover %;Area (ha);Comment\r\n"
    "MILL;7,8;-85,69925;38,20075;31.05.2026;Ada Vole;wintercreeper;vine;35,5;0,125;steep,\r\n"
    'MILL;9,1;-85,69915;38,20085;31.05.2026;Ada Vole;wintercreeper;vine;20;1,250;"two\r\nlines"\r\n'
).encode()


def _page(client, name, row, **asked):
    return client.get(reverse(name, args=[row.public_id]), asked).content.decode()


def _posted(client, row, **changed):
    sent = sent_form(_page(client, "survey-file", row), "matches")
    return client.post(reverse("survey-file", args=[row.public_id]), {**sent, **changed})


def test_columns_that_nothing_is_matched_to_are_named(desk):
    page = _page(desk, "survey-file", handed(theirs({"HUE": None})))
    assert UNUSED in page
    assert "Blank in every row, and not used either: HUE." in page


def test_a_column_that_is_chosen_is_named_no_more(desk):
    row = handed()
    page = _posted(desk, row, step="show", **{"from-notes": "FLAGGED", "from-observer": ""}).content.decode()
    assert "These columns are not used: RECORDER." in page
    assert (
        "Every column that holds anything is used."
        in _posted(desk, row, step="show", **{"from-notes": "FLAGGED"}).content.decode()
    )


def test_what_would_change_names_them_too(desk):
    assert UNUSED in _page(desk, "survey-file-look", tried())


def test_a_column_without_a_name_is_told(desk):
    assert "These columns are not used: FLAGGED, one without a name." in _page(
        desk, "survey-file", handed(theirs({"": "x"}))
    )


def test_a_file_that_was_taken_before_may_hold_more(desk):
    data = theirs()
    performed(survey_file_take(survey_file=tried(data), keep_good_rows=False, stamp=build.stamp()))
    sent = {"file": SimpleUploadedFile("again.geojson", data)}
    page = desk.post(reverse("survey-file-new"), sent, follow=True).content.decode()
    assert "Rows that were taken then will be known." in page


def test_bad_rows_are_not_taken_without_a_word_and_the_page_says_how(desk):
    row = tried(ONE_BAD)
    page = desk.post(reverse("survey-file-take", args=[row.public_id]), follow=True).content.decode()
    assert "Some rows cannot be taken, so nothing was. Say that the good rows shall be taken" in page
    assert SurveyFile.objects.get().taken is None


def test_a_location_from_a_column_that_is_not_there_is_named_at_its_place(desk):
    reply = _posted(desk, handed(TABLE, "table.csv"), step="match", **{"from-longitude": "Westing"})
    assert reply.status_code == 400
    assert "cannot come from Westing: the file has no such column" in reply.content.decode()


def test_numbers_with_a_decimal_comma_come_in(desk):
    row = handed(COMMAS, "commas.csv")
    assert mapping_of(row)["decimal_comma"] is True
    assert "Numbers have a comma for the decimal point" in _page(desk, "survey-file", row)
    _posted(desk, row, step="match")
    row.refresh_from_db()
    performed(trial_of(row))
    performed(survey_file_take(survey_file=row, keep_good_rows=False, stamp=build.stamp()))
    found = [
        (survey.patch.code, survey.gross_area_m2, survey.notes, survey.components.get().cover_likely)
        for survey in Survey.objects.order_by("source_row")
    ]
    assert found == [("7,8", 1250, "steep,", 0.355), ("9,1", 12500, "two\r\nlines", 0.2)]


def test_one_survey_that_is_taken_back_is_one(desk):
    taken = survey_file_take(survey_file=tried(theirs()), keep_good_rows=False, stamp=build.stamp())
    performed(taken)
    undo = reverse("survey-import-undo", args=[taken.public_id])
    assert "Taken back: 1 survey is void." in desk.post(undo, {"reason": "Wrong year."}, follow=True).content.decode()


def test_of_many_columns_the_first_are_named_and_all_are_folded(desk):
    names = [f"MEASURE {number}" for number in range(30)]
    page = _page(desk, "survey-file", handed(theirs(dict.fromkeys(names, 1))))
    assert "MEASURE 18 and more. What stands in them is not taken." in page
    assert "All 31 columns that are not used" in page
    assert page.count("MEASURE 29") > page.count("<option>MEASURE 29</option>")


def test_a_location_that_is_told_twice_is_named_at_its_place(desk):
    pair = b"ID;Coordinates;North;Date;Observer;Plant;Form;Cover %;Area (ha)\r\n"
    row = handed(pair + b'7;"38.20075, -85.69925";38.2;2026-05-31;Ada Vole;wintercreeper;vine;20;0.1\r\n', "pair.csv")
    assert mapping_of(row)["columns"]["latitude_longitude"] == "Coordinates"
    site = {"from-site_code": "= the same for all rows", "fixed-site_code": "MILL"}
    reply = _posted(desk, row, step="match", **{"from-latitude": "North"}, **site)
    assert reply.status_code == 400
    place = reply.content.decode().partition('id="error-latitude_longitude"')[2]
    assert "holds the whole location: name no other column of it beside" in place[:200]
    assert _posted(desk, row, step="match", **site).status_code == 302
    row.refresh_from_db()
    performed(trial_of(row))
    performed(survey_file_take(survey_file=row, keep_good_rows=False, stamp=build.stamp()))
    survey = Survey.objects.get()
    assert survey.geometry["coordinates"] == [-85.69925, 38.20075]


def test_degrees_come_in_and_what_cannot_be_read_names_its_column(desk):
    heading = "ID;Lat;Long;Date;Observer;Plant;Form;Cover %;Area (ha);Site\r\n"
    good = '7;"38°12\'02.7""N";W85 41.955;2026-05-31T01:10:00Z;Ada Vole;wintercreeper;vine;20;0.1;MILL\r\n'
    bad = '8;"38°60\'02.7""N";W85 41.955;2026-05-31T01:10:00Z;Ada Vole;wintercreeper;vine;20;0.1;MILL\r\n'
    trial = trial_of(
        tried(f"{heading}{good}{bad}{good.replace('7;', '9;', 1).replace('02.7', '02.1')}".encode(), "degrees.csv")
    )
    assert [(each["row"], each["line"], each["field"]) for each in trial.errors] == [(2, 3, "latitude")]
    assert "The latitude in column Lat cannot be read" in trial.errors[0]["message"]
    assert [each["code"] for each in trial.warnings] == ["day_at_site"]
