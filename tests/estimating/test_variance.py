"""Price, hours, quantity and scope: each by hand, and that they always are the whole difference."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidFact
from estimating.variance import Spent, Variance, in_cents, variance

CENTS = st.integers(-10_000_000, 10_000_000)
SHARES = st.fractions(0, 1, max_denominator=1_000)
RATES = st.none() | st.fractions(0, 10_000, max_denominator=10_000)


def _labor(planned, actual, rate, minutes, done=1):
    return variance(Spent("hours", planned, actual, Fraction(rate), Fraction(minutes), Fraction(done)))


def test_it_tells_a_dearer_hour_from_more_hours():
    # 600 min planned at 50 cents; 660 min at 60 cents
    assert _labor(30_000, 39_600, 50, 660) == Variance(price_cents=6_600, hours_cents=3_000)


def test_it_takes_what_was_not_done_as_scope():
    # half of it done in 300 min, as planned
    assert _labor(30_000, 15_000, 50, 300, Fraction(1, 2)) == Variance(scope_cents=-15_000)


def test_it_takes_slow_work_on_a_part_as_hours():
    assert _labor(30_000, 20_000, 50, 400, Fraction(1, 2)) == Variance(hours_cents=5_000, scope_cents=-15_000)


def test_it_takes_what_nobody_planned_as_quantity():
    assert variance(Spent("quantity", 0, 700, None, Fraction(5), Fraction(1))) == Variance(quantity_cents=700)


def test_it_takes_premium_as_price():
    assert variance(Spent("price", 0, 700, None, Fraction(0), Fraction(1))) == Variance(price_cents=700)


@given(st.sampled_from(["hours", "quantity", "price"]), CENTS, CENTS, RATES, st.fractions(-1_000, 1_000), SHARES)
def test_it_leaves_nothing_over(kind, planned, actual, rate, amount, done):
    assert variance(Spent(kind, planned, actual, rate, amount, done)).total_cents == actual - planned


@given(st.lists(st.fractions(-100, 100, max_denominator=97), min_size=1, max_size=6), st.integers(-500, 500))
def test_it_rounds_parts_by_less_than_a_cent(parts, total):
    exact = [*parts, total - sum(parts)]
    rounded = in_cents(exact)
    assert sum(rounded) == total
    assert all(abs(whole - part) < 1 for whole, part in zip(rounded, exact, strict=True))


@pytest.mark.parametrize("done", [Fraction(-1, 100), Fraction(101, 100)])
def test_it_refuses_more_than_all(done):
    with pytest.raises(InvalidFact, match="within 0 and 1"):
        _labor(1, 1, 1, 1, done)


def test_it_refuses_a_negative_rate():
    with pytest.raises(InvalidFact, match="0 or more"):
        _labor(1, 1, -1, 1)


def test_it_refuses_parts_of_a_broken_cent():
    with pytest.raises(InvalidFact, match="whole cents"):
        in_cents([Fraction(1, 3)])
