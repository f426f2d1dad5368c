"""Rate books that lie outside of what is published are told so, and each of them is one change from the reference."""

import math

import pytest

from estimating import ground
from estimating.errors import UnknownCode
from estimating.evidence import book_warnings
from estimating.methods import MethodTable
from estimating.rate_book import rate_book_from_rows
from tests.estimating import make


def changed(only=None, **columns):
    """The reference book with columns replaced in the rows that hold all of `only`; a number multiplies the value."""
    rows = [dict(row) for row in make.rows("rate_book.csv")]
    chosen = [row for row in rows if all(row[name] == wanted for name, wanted in (only or {}).items())]
    assert chosen, "no such row in the reference book"
    for row in chosen:
        for name, value in columns.items():
            row[name] = value if isinstance(value, str) else str(float(row[name]) * value)
    return rate_book_from_rows(rows)


def told(book, **given):
    return book_warnings(book, make.methods(), **given)


def codes(book):
    return {warning.code for warning in told(book)}


def test_it_says_nothing_of_the_reference_book():
    assert told(make.book()) == ()


@pytest.mark.parametrize(
    ("code", "only", "columns"),
    [
        ("density-scaling", {"step": "pull with roots", "growth_form": "ground cover"}, {"cover_exponent": "0.2"}),
        ("density-scaling", {"method": "girdle", "step": "search"}, {"value": 0.0}),
        ("rises-with-cover", {"method": "cut", "growth_form": "herb"}, {"value": 0.0}),
        ("pull-by-density", {"step": "pull with roots", "growth_form": "herb"}, {"cover_exponent": "0.6"}),
        ("mow-by-ground", {"method": "mow-mulch", "growth_form": "shrub"}, {"cover_exponent": "0.5"}),
        ("spread-between-methods", {"method": "dig"}, {"value": 3.0}),
        ("order-of-methods", {"method": "girdle"}, {"value": 0.4}),
        ("stump-treatment", {"method": "cut-stem", "growth_form": "shrub"}, {"value": 2.0}),
        ("stumps-to-foliar", {"method": "spot-foliar", "step": "spray"}, {"value": 3.0}),
        ("second-year", {"kind": "factor", "driver": "repeat_year", "from_value": "2", "step": ""}, {"value": "0.05"}),
        ("second-year", {"kind": "factor", "driver": "repeat_year", "from_value": "2", "step": ""}, {"value": "1.4"}),
        ("dense-vine-pulling", {"step": "pull with roots", "growth_form": "climbing"}, {"value": 3.0}),
        ("dense-vine-pulling", {"method": "hand-pull", "growth_form": "sprawling"}, {"value": 0.2}),
    ],
)
def test_it_warns_of_one_rate_out_of_line(code, only, columns):
    assert code in codes(changed(only, **columns))


def test_it_tells_figure_range_source_and_place():
    pulled = {"method": "hand-pull", "step": "pull with roots", "growth_form": "climbing"}
    (found,) = (entry for entry in told(changed(pulled, value=3.0)) if entry.code == "dense-vine-pulling")
    assert (found.low, found.high, found.soft) == (100, 750, True)
    assert (found.method, found.growth_form) == ("hand-pull", "climbing")
    assert found.figure > 750
    assert f"{found.figure:.0f} person-hours an acre" in found.text
    assert "Bittersweet battles" in found.source


def test_it_holds_later_years_to_no_memory_of_the_first_cover(monkeypatch):
    # No book can break this by itself: here the formulas are made to remember.
    monkeypatch.setattr(ground, "MAINTENANCE_FROM_YEAR", 99)
    assert "later-years" in codes(make.book())


def test_it_goes_by_the_prices_it_is_given():
    dear = make.prices(
        role_rate_e4_per_hour={"crew lead": 360_000, "crew member": 280_000, "certified applicator": 9_000_000}
    )
    assert "stump-treatment" in {warning.code for warning in told(make.book(), prices=dear)}


def test_it_leaves_methods_out_that_the_book_lacks():
    rows = [row for row in make.rows("rate_book.csv") if row["method"] != "dig"]
    assert book_warnings(rate_book_from_rows(rows), make.methods()) == ()


def test_it_refuses_a_book_without_any_of_the_methods():
    with pytest.raises(UnknownCode):
        book_warnings(make.book(), MethodTable(()))


def test_it_gives_finite_figures_and_a_source_for_every_warning():
    found = told(changed({"method": "dig"}, value=9.0))
    assert found
    assert all(math.isfinite(warning.figure) and warning.source and warning.text for warning in found)
