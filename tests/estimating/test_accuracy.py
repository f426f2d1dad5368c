"""The accuracy of a season's estimates."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from estimating.accuracy import Judged, accuracy, accuracy_by, log_accuracy_ratio, wilson_interval
from estimating.errors import InvalidFact


def judged(order, actual, *, low=8.0, high=15.0, area=5_000.0, method="cut"):
    return Judged(str(order), 10.0, low, high, actual, area, {"method": method})


def test_it_puts_an_interval_around_the_bias():
    logs = [math.log(a / 10) for a in (9, 10, 12, 14, 16)]
    found = accuracy([judged(n, a) for n, a in enumerate((9, 10, 12, 14, 16))])
    low, high = stats.t.interval(0.8, 4, sum(logs) / 5, stats.sem(logs))
    assert (found.bias_low, found.bias_high) == pytest.approx((math.exp(low), math.exp(high)), rel=2e-3)
    assert found.log_spread == pytest.approx(stats.tstd(logs))


def test_it_tells_the_bias_of_one_order_without_an_interval():
    found = accuracy([judged(1, 13.0)])
    assert found.bias == pytest.approx(1.3)
    assert found.bias_low is found.log_spread is None


def test_it_keeps_its_promise_where_eight_of_ten_are_inside():
    found = accuracy([judged(n, 10.0 if n < 8 else 30.0) for n in range(10)])
    assert (found.inside, found.promise_kept) == (8, True)
    assert not accuracy([judged(n, 10.0 if n < 8 else 30.0) for n in range(40)]).promise_kept


@pytest.mark.parametrize(("inside", "of"), [(0, 5), (4, 5), (5, 5), (33, 40)])
def test_it_takes_wilsons_interval_of_a_share(inside, of):
    other = stats.binomtest(inside, of).proportion_ci(0.8, method="wilson")
    assert wilson_interval(inside, of) == pytest.approx((other.low, other.high))


def test_it_counts_each_order_in_one_group():
    rows = accuracy_by([judged(1, 9), judged(2, 12, method="dig"), judged(3, 11)], "method")
    assert [(row.name, row.orders) for row in rows] == [("cut", 2), ("dig", 1)]


def test_it_leaves_the_error_out_where_no_area_is_known():
    assert accuracy([judged(1, 12.0, area=0.0)]).rmse_hours_per_ha is None


@pytest.mark.parametrize(("predicted", "actual"), [(0, 1), (1, 0), (-1, 1), (math.nan, 1), (1, math.inf)])
def test_it_refuses_hours_that_cannot_be(predicted, actual):
    with pytest.raises(InvalidFact):
        log_accuracy_ratio(predicted, actual)


def test_it_refuses_no_orders():
    with pytest.raises(InvalidFact):
        accuracy([])


@given(st.floats(0.01, 1e4), st.floats(0.01, 1e4))
def test_it_turns_round_with_its_arguments(a, b):
    assert log_accuracy_ratio(a, b) == pytest.approx(-log_accuracy_ratio(b, a))
