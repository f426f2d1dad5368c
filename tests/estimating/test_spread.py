import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidFact
from estimating.spread import (
    course_fit,
    draws_range,
    fit_lognormal,
    order_range,
    season_draws,
    season_fit,
    totals_fit,
)


def orders(count, groups, shared, own, seed=3):
    random = np.random.default_rng(seed)
    likely = random.lognormal(2, 0.8, count)
    return likely, np.full(count, own), np.full(count, shared), random.integers(0, groups, count)


def test_it_puts_an_order_between_its_10_and_90_percent_points():
    found = order_range(np.array([100.0]), np.array([0.5]))
    draws = 100 * np.exp(0.5 * np.random.default_rng(1).standard_normal(1_000_000))
    simulated = draws_range(draws)
    for name in ("low", "likely", "high", "mean"):
        assert getattr(found, name).item() == pytest.approx(getattr(simulated, name).item(), rel=0.005)


@pytest.mark.parametrize(
    ("count", "groups", "shared", "own"),
    [(1, 1, 0.3, 0.4), (2, 2, 0.35, 0.35), (5, 2, 0.4, 0.3), (20, 4, 0.3, 0.4), (20, 1, 0.5, 0.0), (20, 3, 0.0, 0.5)],
)
def test_it_fits_a_season_within_1_percent_of_a_million_draws(count, groups, shared, own):
    facts = orders(count, groups, shared, own)
    fit, simulated = season_fit(*facts), draws_range(season_draws(*facts, draws=1_000_000, seed=11))
    for name in ("low", "likely", "high", "mean"):
        assert getattr(fit, name) == pytest.approx(getattr(simulated, name).item(), rel=0.01)


def test_it_does_not_shrink_the_range_of_a_season_falsely():
    many = season_fit(*orders(2000, 1, 0.3, 0.5))
    assert many.high / many.likely == pytest.approx(np.exp(0.3 * 1.2816), rel=0.01)


def test_it_shrinks_what_orders_do_not_share():
    few, many = (season_fit(*orders(count, 1, 0.0, 0.5)) for count in (10, 1000))
    assert many.sd / many.mean < few.sd / few.mean / 5


def test_it_adds_means_not_medians():
    likely, own, shared, group = orders(50, 3, 0.3, 0.4)
    fit = season_fit(likely, own, shared, group)
    assert fit.mean == pytest.approx((likely * np.exp((0.3**2 + 0.4**2) / 2)).sum())
    assert fit.mean > likely.sum()


def test_it_repeats_draws_of_the_same_seed():
    facts = orders(30, 3, 0.3, 0.4)
    one, again, other = (season_draws(*facts, draws=100, seed=seed) for seed in (1, 1, 2))
    assert (one == again).all()
    assert (one != other).any()


@given(st.floats(0.01, 0.99), st.floats(0.05, 0.8))
def test_it_finds_the_chance_of_passing_its_own_quantiles(chance, shared):
    fit = season_fit(*orders(10, 2, shared, 0.2))
    assert fit.chance_above(fit.quantile(chance)) == pytest.approx(1 - chance, abs=1e-9)


def test_it_knows_a_certain_total():
    sure = season_fit(*orders(4, 1, 0.0, 0.0))
    assert sure.low == sure.likely == sure.high == sure.mean
    assert (sure.chance_above(sure.mean + 1), sure.chance_above(sure.mean - 1)) == (0, 1)


def test_it_never_falls_below_its_start():
    fit = season_fit(*orders(10, 2, 0.3, 0.2))
    assert fit.chance_above(fit.start) == 1.0


def test_it_fits_an_almost_symmetric_total():
    fit = fit_lognormal(100.0, 25.0, 0.0)
    assert (fit.low, fit.high) == pytest.approx((100 - 1.2816 * 5, 100 + 1.2816 * 5), abs=0.01)


@pytest.mark.parametrize("bad", [[-1.0], [np.nan], [np.inf]])
def test_it_refuses_hours_that_cannot_be(bad):
    one = np.array([0.2])
    with pytest.raises(InvalidFact, match="finite"):
        season_fit(np.array(bad), one, one, np.array([0]))


def test_it_refuses_columns_of_different_lengths():
    with pytest.raises(InvalidFact, match="one value an order"):
        season_fit(np.ones(2), np.ones(3), np.ones(2), np.zeros(2, int))


@pytest.mark.parametrize("seed", [2, 3, 4])
def test_it_fits_a_season_of_unlike_orders_within_1_percent_of_a_million_draws(seed):
    # Each order its own spreads, as estimates have them; none above 0.5 in all.
    random = np.random.default_rng(seed)
    count = 12
    whole, angle = random.uniform(0.2, 0.5, count), random.uniform(0.2, 1.3, count)
    facts = random.lognormal(2, 0.8, count), whole * np.cos(angle), whole * np.sin(angle), random.integers(0, 3, count)
    fit, simulated = season_fit(*facts), draws_range(season_draws(*facts, draws=1_000_000, seed=seed))
    for name in ("low", "likely", "high", "mean"):
        assert getattr(fit, name) == pytest.approx(getattr(simulated, name).item(), rel=0.01)


def test_it_fits_many_totals_of_the_same_orders_as_each_alone():
    likely, own, shared, group = orders(30, 4, 0.3, 0.4)
    parts = np.random.default_rng(5).uniform(0, 1, (6, 30)) * likely
    parts[0] = 0
    found = course_fit(parts, own, shared, group)
    alone = [season_fit(one, own, shared, group) for one in parts]
    assert [(one.low, one.high, one.mean) for one in found] == [
        pytest.approx((one.low, one.high, one.mean)) for one in alone
    ]


def test_it_fits_totals_that_share_no_order_as_each_alone():
    likely, own, shared, group = orders(30, 4, 0.3, 0.4)
    total = np.arange(30) % 7
    found = totals_fit(likely, own, shared, group, total)
    alone = [season_fit(*(column[total == number] for column in (likely, own, shared, group))) for number in range(7)]
    assert [(one.low, one.high, one.mean) for one in found] == [
        pytest.approx((one.low, one.high, one.mean)) for one in alone
    ]
    assert totals_fit(likely[:0], own[:0], shared[:0], group[:0], total[:0]) == []
