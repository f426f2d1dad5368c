"""Rounding to the cent, and sharing a total out."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidFact
from estimating.pricing import mileage_cents, ratio_cents, split_cents, to_cents

# Computed by Decimal ROUND_HALF_UP; binary floats get four of these wrong.
HALF_UP = [
    ("2.665", 267),
    ("2.675", 268),
    ("0.125", 13),
    ("1.005", 101),
    ("0.005", 1),
    ("0.015", 2),
    ("-2.665", -267),
    ("-0.125", -13),
]


@pytest.mark.parametrize(("dollars", "cents"), HALF_UP)
@pytest.mark.parametrize("kind", [Decimal, Fraction])
def test_it_rounds_half_up(dollars, cents, kind):
    assert to_cents(kind(dollars)) == cents


def test_it_refuses_binary_floats():
    binary: Any = 2.675
    with pytest.raises(InvalidFact, match="binary"):
        to_cents(binary)


# Largest remainder, ties to the earlier index (method: Hamilton; values computed).
SHARES = [
    (10_000, [1, 1, 1], [3334, 3333, 3333]),
    (5, [1, 1, 1], [2, 2, 1]),
    (2, [1, 1, 1], [1, 1, 0]),
    (1, [1, 1, 1, 1], [1, 0, 0, 0]),
    (1000, [Decimal("3.5"), Decimal("2.25"), Decimal("1.75")], [467, 300, 233]),
    (-10_000, [1, 1, 1], [-3334, -3333, -3333]),
]


@pytest.mark.parametrize(("total", "weights", "parts"), SHARES)
def test_it_shares_by_largest_remainder(total, weights, parts):
    assert split_cents(total, weights) == parts


def test_it_refuses_to_share_by_nothing():
    with pytest.raises(InvalidFact, match="all zero"):
        split_cents(100, [0, 0])
    assert split_cents(0, [0, 0]) == [0, 0]


@given(st.integers(-(10**12), 10**12), st.lists(st.integers(0, 10**6), min_size=1, max_size=30))
def test_it_never_loses_a_cent(total, weights):
    weights[0] += 1
    parts = split_cents(total, weights)
    assert sum(parts) == total
    assert all(
        abs(part * sum(weights) - total * weight) < sum(weights) for part, weight in zip(parts, weights, strict=True)
    )


@given(st.integers(0, 10**12), st.integers(1, 10**6))
def test_it_rounds_arrays_as_it_rounds_one(numerator, denominator):
    assert ratio_cents(np.array([numerator]), denominator)[0] == to_cents(Fraction(numerator, denominator * 100))


@pytest.mark.parametrize(("rate_e4", "cents"), [(7_000, 2982), (7_250, 3089)])
def test_it_pays_42_6_miles_by_the_rate_of_the_day(rate_e4, cents):
    # IRS business mileage: 70 cents in 2025, 72.5 cents in 2026; 30.885 rounds up.
    assert mileage_cents(42_600, rate_e4) == cents
