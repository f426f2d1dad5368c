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
