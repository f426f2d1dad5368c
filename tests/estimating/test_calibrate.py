"""Ratios of actual to estimated hours: pooled, honest about too little, and not led astray by one wild order."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.calibrate import WILD_WEIGHT, Part, calibrate
from estimating.errors import InvalidFact
from tests.estimating.seasons import order, simulate

TIDY = tuple(0.2 + 0.3 * z for z in (-1.3, -0.7, -0.4, 0.0, 0.1, 0.5, 0.7, 1.1, -0.2, 0.2))


def tidy_orders():
    """Two methods of ten orders each, by two crews, crews taking turns."""
    return [order(n + 10 * m, TIDY[n], method=m, crew=n % 2) for m in (0, 1) for n in range(10)]


def test_it_says_first_that_there_is_not_enough():
    found = calibrate([order(n, 0.5) for n in range(4)])
    assert (found.enough, found.overall, found.methods) == (False, None, ())
    assert found.because.startswith("Not enough evidence: 4 closed orders")


def test_it_says_so_of_nothing_at_all():
    assert not calibrate([]).enough


def test_it_says_so_of_a_method_with_few_orders_and_still_shows_its_orders():
    found = calibrate([*tidy_orders(), order("lone", 0.9, method=2)])
    lone = found.methods[2]
    assert (lone.enough, lone.orders) == (False, ("lone",))
    assert lone.reason.startswith("Not enough evidence: the worth of 1.0 orders")
    assert found.ratio("method 2") is None


def test_it_says_so_where_orders_disagree_too_much():
    found = calibrate([order(n, (-1) ** n * 1.6, crew=n % 2) for n in range(6)])
    assert not found.methods[0].enough
    assert "differ by a factor of" in found.methods[0].reason


def test_it_leans_a_small_method_on_the_others():
    spread = [order(f"b{n}", 0.2 + z, method=n % 4 + 1) for n, z in enumerate(TIDY * 4)]
    found = calibrate([*spread, order("lone", 2.0, method=0)])
    assert 1.2 < found.methods[0].ratio < math.exp(2.0)


def test_it_takes_one_method_one_form_and_one_crew():
    found = calibrate([order(n, z) for n, z in enumerate(TIDY)])
    assert found.methods[0].ratio == pytest.approx(math.exp(np.mean(TIDY)), rel=0.02)
    assert found.crews[0].ratio == pytest.approx(1)
    assert "one crew only" in found.crews[0].reason


def test_it_takes_orders_that_all_say_the_same():
    found = calibrate([order(n, math.log(1.5)) for n in range(8)])
    assert found.methods[0].ratio == pytest.approx(1.5, rel=1e-6)
    assert found.methods[0].low < 1.5 < found.methods[0].high


def test_it_shares_an_order_out_over_what_it_was_made_of():
    mixed = replace(order("mixed", 0.2), parts=(Part("method 0", "form 0", 0.25), Part("method 1", "form 0", 0.75)))
    found = calibrate([*tidy_orders(), mixed])
    assert [row.worth for row in found.methods] == pytest.approx([10.25, 10.75])
    assert all("mixed" in row.orders for row in found.methods)


def test_it_tells_crews_against_each_other():
    slow = [order(n, 0.1 + 0.4 * (n % 2) + 0.1 * z, crew=n % 2) for n, z in enumerate(TIDY * 2)]
    found = calibrate(slow)
    assert found.crews[0].high < 1 < found.crews[1].low
    assert found.crews[0].ratio * found.crews[1].ratio == pytest.approx(1, rel=1e-6)


WILD = "3"


def with_one_wild(orders):
    return [replace(each, actual_hours=each.actual_hours * 8) if each.order == WILD else each for each in orders]


def test_it_lets_one_order_of_eight_times_move_a_method_of_ten_by_less_than_eight_percent():
    plain, wild = calibrate(tidy_orders()), calibrate(with_one_wild(tidy_orders()))
    moved = wild.methods[0].ratio / plain.methods[0].ratio
    unguarded = calibrate(with_one_wild(tidy_orders()), robust=False).methods[0].ratio / plain.methods[0].ratio
    assert 1.0 < moved < 1.08
    assert unguarded > 1.12


def test_it_shows_the_wild_order_with_its_weight_and_never_drops_it():
    found = calibrate(with_one_wild(tidy_orders()))
    assert [row.order for row in found.weights if row.wild] == [WILD]
    weight = next(row.weight for row in found.weights if row.order == WILD)
    assert 0.05 < weight < WILD_WEIGHT
    assert WILD in found.methods[0].orders


def test_it_widens_own_spreads_where_orders_scatter_more_than_was_said():
    quiet, loud = (calibrate([order(n, s * z) for n, z in enumerate(TIDY * 3)]) for s in (0.5, 3.0))
    assert quiet.own_spread_factor < 1 < loud.own_spread_factor <= 3


@pytest.mark.parametrize("hours", [0.0, -1.0, math.nan, math.inf])
def test_it_refuses_hours_that_cannot_be(hours):
    with pytest.raises(InvalidFact, match="above 0"):
        calibrate([replace(order(1, 0.0), actual_hours=hours)])


def test_it_refuses_shares_that_do_not_sum_to_one():
    with pytest.raises(InvalidFact, match="sum to 1"):
        calibrate([replace(order(1, 0.0), parts=(Part("a", "b", 0.7),))])


def test_it_refuses_an_order_given_twice():
    with pytest.raises(InvalidFact, match="twice"):
        calibrate([order(1, 0.0), order(1, 0.1)])


@settings(max_examples=15)
@given(st.integers(0, 10_000), st.floats(0.2, 9.0))
def test_it_scales_with_the_actual_hours(seed, factor):
    """All crews slower by c: every ratio is c times what it was."""
    orders = simulate(seed, orders=20, methods=3, crews=2).orders
    scaled = [replace(each, actual_hours=each.actual_hours * factor) for each in orders]
    before, after = calibrate(orders), calibrate(scaled)
    assert before.overall
    assert after.overall
    assert after.overall.ratio == pytest.approx(before.overall.ratio * factor, rel=1e-4)
    assert [row.ratio for row in after.methods] == pytest.approx([row.ratio * factor for row in before.methods], 1e-4)
    assert [row.weight for row in after.weights] == pytest.approx([row.weight for row in before.weights], abs=1e-3)


@settings(max_examples=15)
@given(st.integers(0, 10_000), st.randoms())
def test_it_does_not_care_in_which_order_the_orders_come(seed, shuffler):
    orders = simulate(seed, orders=20, methods=3, crews=2).orders
    shuffled = list(orders)
    shuffler.shuffle(shuffled)
    assert calibrate(shuffled) == calibrate(orders)
