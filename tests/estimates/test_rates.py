"""Rates of a draft: added, changed, removed, imported; the whole book is checked before anything is stored."""

from typing import Any

import pytest

from orders.common.errors import Invalid, NotFound, VersionMismatch, WrongState
from orders.common.models import Change
from orders.estimates.convert import rate_rows
from orders.estimates.rate_csv import rates_csv
from orders.estimates.selectors import rate_book_in_force
from orders.estimates.services import rate_add, rate_edit, rate_remove, rates_import
from tests.estimates.books import changed_rows, draft, line_of
from tests.flow.world import csv_rows, world_build

pytestmark = pytest.mark.django_db
SPARE = {"kind": "allowance", "step": "spare_figure", "value": "3", "unit": "people", "source": "invented"}


def _told(verb) -> tuple[dict[str, Any], dict[str, Any]]:
    """What was and what is, by the record of a change."""
    change = Change.objects.get(verb=verb)
    return change.before or {}, change.after or {}


@pytest.fixture
def world():
    return world_build()


@pytest.fixture
def book(world):
    return draft(world)


def test_it_adds_a_row_after_a_line(world, book):
    count = book.rates.count()
    rate_add(book=book, values=SPARE, after_line=2, expected=1, stamp=world.stamp())
    assert (rate_rows(book)[2]["step"], book.rates.count(), book.version) == ("spare_figure", count + 1, 2)
    assert list(book.rates.values_list("line", flat=True)) == list(range(1, count + 2))


def test_it_adds_at_the_end_where_no_line_is_named(world, book):
    rate_add(book=book, values=SPARE, expected=1, stamp=world.stamp())
    assert rate_rows(book)[-1]["step"] == "spare_figure"


def test_it_changes_columns_of_one_row_and_records_old_and_new(world, book):
    line = line_of(book, method="hand-pull", step="search")
    rate_edit(book=book, line=line, values={"value": "5", "source": "from memory"}, expected=1, stamp=world.stamp())
    assert book.rates.get(line=line).value == "5"
    before, after = _told("rate_edit")
    assert (before["value"], after["value"], before["step"]) == ("4", "5", "search")


def test_it_records_nothing_where_nothing_changes(world, book):
    line = line_of(book, method="hand-pull", step="search")
    rate_edit(book=book, line=line, values={"value": " 4 "}, expected=1, stamp=world.stamp())
    assert (book.version, Change.objects.filter(verb="rate_edit").count()) == (1, 0)


def test_it_names_row_and_column_and_keeps_the_book_as_it_was(world, book):
    line = line_of(book, method="hand-pull", step="search")
    with pytest.raises(Invalid) as refused:
        rate_edit(book=book, line=line, values={"unit": "min/stem"}, expected=1, stamp=world.stamp())
    assert [(error.field, error.row) for error in refused.value.errors] == [("unit", line)]
    assert (book.rates.get(line=line).unit, Change.objects.filter(verb="rate_edit").count()) == ("h/ha", 0)


def test_it_refuses_a_row_that_stands_in_the_book_already(world, book):
    with pytest.raises(Invalid) as refused:
        rate_add(book=book, values=rate_rows(book)[0], expected=1, stamp=world.stamp())
    assert refused.value.errors[0].row == book.rates.count() + 1


def test_it_refuses_a_column_that_it_does_not_know(world, book):
    with pytest.raises(Invalid) as refused:
        rate_edit(book=book, line=1, values={"price": "1"}, expected=1, stamp=world.stamp())
    assert [error.field for error in refused.value.errors] == ["price"]


def test_it_removes_a_row(world, book):
    count, second = book.rates.count(), rate_rows(book)[1]
    rate_remove(book=book, line=1, expected=1, stamp=world.stamp())
    assert (book.rates.count(), rate_rows(book)[0]) == (count - 1, second)
    assert _told("rate_remove")[0]["step"] == "search"


def test_it_knows_no_line_beyond_the_last(world, book):
    with pytest.raises(NotFound):
        rate_remove(book=book, line=book.rates.count() + 1, expected=1, stamp=world.stamp())


def test_it_refuses_an_edit_of_a_version_that_has_moved_on(world, book):
    rate_remove(book=book, line=1, expected=1, stamp=world.stamp())
    count = book.rates.count()
    with pytest.raises(VersionMismatch):
        rate_remove(book=book, line=1, expected=1, stamp=world.stamp())
    assert book.rates.count() == count


@pytest.mark.parametrize("verb", [rate_edit, rate_add])
def test_it_changes_no_book_in_force(world, verb):
    book = rate_book_in_force()
    place = {"line": 1} if verb is rate_edit else {}
    with pytest.raises(WrongState):
        verb(book=book, values=SPARE, expected=book.version, stamp=world.stamp(), **place)


def test_it_replaces_all_rates_by_a_csv_and_names_what_changed(world, book):
    rates_import(book=book, text=rates_csv(changed_rows()), expected=1, stamp=world.stamp())
    _, told = _told("rates_import")
    hand_pull = [row for row in csv_rows("rate_book.csv") if (row["kind"], row["method"]) == ("rate", "hand-pull")]
    assert len(told["changes"]) == len(hand_pull)
    assert told["changes"][0]["values"] == {"value": ["4", "8"]}


def test_it_imports_nothing_of_a_csv_with_one_bad_row(world, book):
    before = rate_rows(book)
    with pytest.raises(Invalid) as refused:
        rates_import(book=book, text=rates_csv(before).replace("h/ha", "h/acre", 1), expected=1, stamp=world.stamp())
    assert [(error.field, error.row) for error in refused.value.errors] == [("unit", 1)]
    assert rate_rows(book) == before
