"""The season's end by fund: held against 400,000 drawn totals of a named seed."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidFact
from estimating.forecast import Coming, forecast, forecast_draws

SEED, DRAWS = 20_270_401, 400_000
COMING = [
    Coming(likely, 0.2 + 0.05 * (number % 5), 0.1 + 0.05 * (number % 3), ("cut", "pull", "spray")[number % 3])
    for number, likely in enumerate([900, 1_400, 400, 2_600, 700, 1_100, 300, 1_900])
]


@pytest.fixture(scope="module")
def drawn():
    return forecast_draws(12_345, COMING, draws=DRAWS, seed=SEED)


def test_it_has_the_points_of_the_draws(drawn):
    found = forecast(12_345, COMING)
    points = np.quantile(drawn, [0.1, 0.5, 0.9])
    assert [found.low, found.likely, found.high] == pytest.approx(points, rel=0.01)
    assert found.mean == pytest.approx(drawn.mean(), rel=0.002)


@pytest.mark.parametrize("budget", [20_500, 21_500, 22_500, 24_000, 27_000])
def test_it_has_the_chances_of_the_draws(drawn, budget):
    assert forecast(12_345, COMING).chance_over(budget) == pytest.approx(float((drawn > budget).mean()), abs=0.01)


def test_it_is_certain_where_nothing_is_open():
    found = forecast(500, [])
    assert (found.low, found.likely, found.high) == (500, 500, 500)
    assert (found.chance_over(499), found.chance_over(500)) == (1, 0)


@given(st.floats(0, 1e6), st.floats(1, 1e6), st.floats(0.01, 0.5), st.floats(0, 0.5))
def test_it_is_the_lognormal_itself_for_one_order(spent, likely, own, shared):
    found = forecast(spent, [Coming(likely, own, shared, "cut")])
    sd = math.hypot(own, shared)
    assert found.likely == pytest.approx(spent + likely, rel=1e-6)
    assert found.mean == pytest.approx(spent + likely * math.exp(sd**2 / 2), rel=1e-6)
    assert found.low <= found.likely <= found.high


@pytest.mark.parametrize(("spent", "likely"), [(math.nan, 1), (1, -1), (1, math.inf)])
def test_it_refuses_what_is_no_amount(spent, likely):
    with pytest.raises(InvalidFact):
        forecast(spent, [Coming(likely, 0.1, 0.1, "cut")])
