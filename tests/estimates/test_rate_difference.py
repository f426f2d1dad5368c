"""Where two rate books differ, row by row."""

import pytest

from orders.estimates.rate_difference import rate_book_difference, rate_changes
from orders.estimates.selectors import rate_book_in_force
from tests.estimates.books import changed_rows, draft
from tests.flow.world import csv_rows, world_build


def _row(**named):
    columns = csv_rows("rate_book.csv")[0]
    return dict.fromkeys(columns, "") | {"kind": "rate", "method": "cut", "step": "cut", "value": "1"} | named


def _told(old, new):
    return [
        (row.change, row.step, {value.column: (value.old, value.new) for value in row.values})
        for row in rate_changes(old, new)
    ]


def test_it_tells_what_changed_in_a_row():
    old, new = _row(value="1", source="a"), _row(value="2", source="b", own_spread="0.3")
    assert _told([old], [new]) == [
        ("changed", "cut", {"value": ("1", "2"), "own_spread": ("", "0.3"), "source": ("a", "b")})
    ]


def test_it_tells_of_rows_that_are_in_one_book_only():
    assert _told([_row(step="a")], [_row(step="b", value="0")]) == [
        ("added", "b", {"value": ("", "0")}),
        ("removed", "a", {"value": ("1", "")}),
    ]


def test_it_takes_equal_numbers_for_the_same():
    assert _told([_row(value="0.30", from_value="")], [_row(value="0.3", from_value="0")]) == []


def test_it_takes_another_threshold_for_another_row():
    changes = _told([_row(kind="factor", from_value="2")], [_row(kind="factor", from_value="3")])
    assert [change for change, _, _ in changes] == ["added", "removed"]


@pytest.mark.django_db
def test_it_goes_by_method_and_counts_what_is_the_same():
    world = world_build()
    rows = changed_rows()
    new = draft(world, [row for row in rows if row["method"] != "tarp"])
    found = rate_book_difference(rate_book_in_force(), new)
    assert [method for method, _ in found.by_method] == ["hand-pull", "tarp"]
    assert found.same + found.count("changed") == new.rates.count()
    assert found.same + found.count("changed") + found.count("removed") == len(rows)


@pytest.mark.django_db
def test_it_finds_nothing_between_a_book_and_its_copy():
    world = world_build()
    found = rate_book_difference(rate_book_in_force(), draft(world))
    assert (found.rows, found.same) == ((), found.new.rates.count())
