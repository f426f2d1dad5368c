"""Rate books from the terminal."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from orders.estimates.models import RateBook
from orders.estimates.rate_csv import rates_from_csv
from orders.estimates.selectors import rate_book_in_force
from tests.estimates.books import changed_rows, draft
from tests.flow.world import REFERENCE, csv_rows, prescribed, world_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return world_build()


def _rates(*words):
    out = StringIO()
    call_command("rates", *words, stdout=out)
    return out.getvalue()


def test_it_lists_the_books(world):
    draft(world)
    told = _rates("list").splitlines()
    assert told == ["Reference 2: staff crews, draft", "Reference 1: staff crews, in force, from 2026-12-01"]


def test_it_copies_exports_imports_and_puts_in_force(world, tmp_path):
    assert _rates("copy", "staff", "--as", "coordinator") == "Reference 2 is a draft\n"
    file = tmp_path / "rates.csv"
    file.write_text(_rates("export", "Reference 2").replace("gross_area_m2,,4,h/ha", "gross_area_m2,,5,h/ha", 1))
    assert "rates now" in _rates("import", "Reference 2", str(file), "--as", "coordinator")
    assert "value 4 -> 5" in _rates("difference", "staff", "Reference 2")
    assert "in force from 2027-01-01" in _rates(
        "in-force", "Reference 2", "--from", "2027-01-01", "--as", "coordinator"
    )
    assert rate_book_in_force().edition == 2


def test_it_exports_the_reference_rates(world):
    assert rates_from_csv(_rates("export", "staff")) == csv_rows("rate_book.csv")


def test_it_tells_the_effect(world):
    prescribed(world)
    draft(world, changed_rows())
    told = _rates("effect", "Reference 2")
    assert "hand pulling with roots:" in told
    assert "10 to 90%" in told


def test_it_names_the_row_that_is_wrong(world, tmp_path):
    draft(world)
    file = tmp_path / "rates.csv"
    file.write_text((REFERENCE / "rate_book.csv").read_text().replace("h/ha", "h/acre", 1))
    with pytest.raises(CommandError, match=r"unit \(row 1\)"):
        _rates("import", "Reference 2", str(file), "--as", "coordinator")


def test_it_refuses_who_may_not_change_rates(world):
    with pytest.raises(CommandError, match="coordinator or an administrator"):
        _rates("copy", "staff", "--as", "finance")
    assert RateBook.objects.count() == 1


def test_it_says_how_a_book_is_named(world):
    with pytest.raises(CommandError, match="There is no rate book Reference"):
        _rates("export", "Reference")


def test_it_ends_every_exported_line_alike_so_that_other_programs_read_it(world):
    lines = _rates("export", "staff").split("\r\n")
    assert lines.pop() == ""
    assert not any("\n" in line for line in lines)
