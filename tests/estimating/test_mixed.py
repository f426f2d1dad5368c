"""The mixed model against another program's fits of the same data."""

import math
import warnings

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats
from statsmodels.regression.mixed_linear_model import VCSpec
from statsmodels.tools.sm_exceptions import ConvergenceWarning

from estimating.errors import InvalidFact
from estimating.mixed import posterior, reml, student_cdf, student_quantile
from tests.estimating.seasons import indicators


def data(seed, levels=(8, 6), rows=120, tau=(0.35, 0.25), sigma=0.4):
    random = np.random.default_rng(seed)
    groups = [random.integers(0, n, rows) for n in levels]
    effects = [random.normal(0, t, n)[group] for t, n, group in zip(tau, levels, groups, strict=True)]
    y = 0.2 + sum(effects) + random.normal(0, sigma, rows)
    return y, [indicators(group, n) for group, n in zip(groups, levels, strict=True)], groups


def other_fit(y, factors):
    """All rows in one group, each factor as a variance component."""
    names = [[f"{k}.{level}" for level in range(factor.shape[1])] for k, factor in enumerate(factors)]
    components = VCSpec([str(k) for k in range(len(factors))], [[name] for name in names], [[f] for f in factors])
    model = sm.MixedLM(y, np.ones((len(y), 1)), groups=np.zeros(len(y)), exog_vc=components)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ConvergenceWarning)  # at a spread of 0 it warns of the boundary
        return model.fit(reml=True)


@pytest.mark.parametrize("seed", range(4))
def test_it_agrees_with_another_program_on_one_factor(seed):
    y, factors, groups = data(seed)
    own, other = reml(y, factors[:1]), sm.MixedLM(y, np.ones((len(y), 1)), groups=groups[0]).fit(reml=True)
    assert own.mu == pytest.approx(float(other.fe_params[0]), abs=1e-4)
    assert own.tau[0] == pytest.approx(math.sqrt(float(np.ravel(other.cov_re)[0])), abs=1e-3)
    assert own.sigma == pytest.approx(math.sqrt(other.scale), abs=1e-3)
    theirs = [float(np.ravel(other.random_effects[level])[0]) for level in range(8)]
    assert own.effects[0] == pytest.approx(np.array(theirs), abs=1e-3)


@pytest.mark.parametrize("seed", range(4))
def test_it_agrees_with_another_program_on_crossed_factors(seed):
    y, factors, _ = data(seed)
    own, other = reml(y, factors), other_fit(y, factors)
    assert own.mu == pytest.approx(float(other.fe_params[0]), abs=1e-3)
    assert own.tau == pytest.approx(np.sqrt(other.vcomp), abs=2e-3)
    theirs = np.ravel(other.random_effects[0])
    assert np.concatenate(own.effects) == pytest.approx(theirs, abs=2e-3)


def test_it_finds_a_spread_of_nothing():
    """Groups whose means differ less than chance would have it: the spread is 0 and the groups are one."""
    y = np.tile([-1.0, 1.0], 20)
    fit = reml(y, [indicators(np.repeat(np.arange(4), 10), 4)])
    assert fit.tau[0] == 0
    assert fit.effects[0] == pytest.approx(np.zeros(4))


def test_it_takes_groups_of_one_order():
    y, _, _ = data(1, rows=12)
    fit = reml(y, [np.eye(12)[:, :12]])
    assert np.isfinite([fit.mu, fit.sigma, *fit.effects[0]]).all()


def test_it_draws_groups_toward_the_middle_and_small_ones_more():
    group = np.array([0] * 2 + [1] * 20 + [2] * 20 + [3] * 2)
    y = np.array([0.0, 1.0, 0.0, 1.0])[group] + np.tile([-0.3, 0.3], 22)
    effects = reml(y, [indicators(group, 4)]).effects[0]
    assert effects[1] == pytest.approx(-effects[2])
    assert abs(effects[0]) < abs(effects[2])


def test_it_refuses_what_does_not_fit_together():
    with pytest.raises(InvalidFact, match="one finite value"):
        reml(np.zeros(3), [np.eye(2)])
    with pytest.raises(InvalidFact, match="above 0"):
        reml(np.zeros(3), [np.eye(3)], np.array([1.0, 0.0, 1.0]))
    with pytest.raises(InvalidFact, match="2 rows"):
        reml(np.zeros(1), [np.eye(1)])


def test_it_tells_a_mean_alone_as_every_textbook_does():
    """A factor of one level that all share: mu + its effect is the mean, its interval Student's."""
    y = np.random.default_rng(3).normal(0.4, 0.5, 15)
    known = posterior(y, [np.ones((15, 1))]).of(np.ones(2), 0.8)
    reach = stats.t.ppf(0.9, 14) * y.std(ddof=1) / math.sqrt(15)
    assert (known.low, known.high) == pytest.approx((y.mean() - reach, y.mean() + reach), abs=2e-3)


@pytest.mark.parametrize(("dof", "within"), [(1, 0.008), (3, 0.001), (10, 2e-4), (60, 1e-5)])
def test_it_knows_students_distribution(dof, within):
    t = np.linspace(-8, 8, 321)
    assert student_cdf(t, dof) == pytest.approx(stats.t.cdf(t, dof), abs=within)
    assert student_cdf(np.array([student_quantile(0.9, dof)]), dof)[0] == pytest.approx(0.9, abs=1e-6)
