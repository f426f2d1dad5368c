"""What was found in a file, as it is kept and as it is told."""

import pytest

from orders.sites.convert import file_refusal_of, finding_of, finding_words
from orders.sites.geofiles.records import FileRefused, MappingRefused, RowError


def test_it_keeps_where_a_thing_was_found():
    kept = finding_of(RowError(5, "cover_percent", "cover_out_of_range", "140 is not from 0 to 100.", 7))
    assert kept == {
        "row": 5,
        "line": 7,
        "field": "cover_percent",
        "code": "cover_out_of_range",
        "message": "140 is not from 0 to 100.",
    }


@pytest.mark.parametrize("stranger", ["9" * 3000, "\0" * 3000])
def test_it_keeps_messages_that_quote_a_stranger_short_and_storable(stranger):
    message = finding_of(RowError(1, "notes", "x", f"“{stranger}” is not a number"))["message"]
    assert (len(message), "\0" in message, message[-1]) == (400, False, "…")


def test_it_keeps_the_names_to_choose_from():
    kept = file_refusal_of(FileRefused("several_layers", "Choose one.", ("weeds", "trees")))
    assert (kept["field"], kept["names"]) == ("file", ["weeds", "trees"])
    assert file_refusal_of(MappingRefused("columns.notes", "no"))["field"] == "mapping"


@pytest.mark.parametrize(
    ("row", "line", "field", "words"),
    [
        (5, 7, "cover_percent", "row 5 (line 7), cover_percent: no"),
        (5, None, "cover_percent", "row 5, cover_percent: no"),
        (None, None, "columns", "file, columns: no"),
        (None, None, "file", "file: no"),
    ],
)
def test_it_tells_where_a_thing_was_found(row, line, field, words):
    assert finding_words({"row": row, "line": line, "field": field, "message": "no"}) == words
