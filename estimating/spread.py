"""Low, likely and high of one order and of a whole season.

An order's hours are lognormal around their likely value M with two kinds of error:

    hours = M x exp(shared x Z[group]) x exp(own x E[order])

Z is one standard normal draw for all orders that use the same rates (the rate is wrong for all of them alike), E one
for each order (its crew, its ground, its survey). Low, likely and high are the 10, 50 and 90% points.

A season's total keeps the shared part whole, so that adding orders does not make its range falsely narrow. It is fitted
by its mean, variance and skewness to a lognormal that may start off zero. Against 1,000,000 simulated totals
(`season_draws`) the 10, 50 and 90% points are within 1% while each order's whole log spread is at most 0.5; ten
orders with a spread of 0.7 are up to 1.7% off, with 1.0 up to 12%, and with 1.4 the 10% point misses by half: there,
simulate (`python -m tests.benchmarks season_range` measures it).
"""

import math
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist
from typing import Any

import numpy as np

from estimating.columns import FloatArray, IntArray
from estimating.errors import InvalidFact

LOW, HIGH = 0.10, 0.90
HIGH_Z = NormalDist().inv_cdf(HIGH)

# Nodes of the Gauss-Hermite rule for means over the shared error; exact far beyond a log spread of 1.
QUADRATURE_NODES = 48

# Draws are made in blocks of about this many numbers, which fit the processor's cache.
BLOCK_NUMBERS = 1 << 18


@dataclass(frozen=True)
class Range:
    """10, 50 and 90% points and the mean, one value a row."""

    low: FloatArray
    likely: FloatArray
    high: FloatArray
    mean: FloatArray


def order_range(likely: FloatArray, log_sd: FloatArray) -> Range:
    """Range of a lognormal: M e^(-1.2816 s), M, M e^(1.2816 s), and the mean M e^(s^2 / 2)."""
    reach = np.exp(HIGH_Z * log_sd)
    return Range(likely / reach, likely, likely * reach, likely * np.exp(log_sd**2 / 2))


@dataclass(frozen=True)
class SeasonFit:
    """A season's total as start + lognormal(mu, sigma); sigma 0: the total is certain."""

    mean: float
    sd: float
    start: float
    mu: float
    sigma: float

    def quantile(self, chance: float) -> float:
        """Total that is not passed with this chance."""
        if self.sigma == 0:
            return self.mean
        return self.start + math.exp(self.mu + self.sigma * NormalDist().inv_cdf(chance))

    def chance_above(self, amount: float) -> float:
        """Chance that the total passes an amount."""
        if self.sigma == 0:
            return 1.0 if self.mean > amount else 0.0
        if amount <= self.start:
            return 1.0
        return 1 - NormalDist().cdf((math.log(amount - self.start) - self.mu) / self.sigma)

    @property
    def low(self) -> float:
        """10% point."""
        return self.quantile(LOW)

    @property
    def likely(self) -> float:
        """50% point."""
        return self.quantile(0.5)

    @property
    def high(self) -> float:
        """90% point."""
        return self.quantile(HIGH)


def _check(likely: FloatArray, own_log_sd: FloatArray, shared_log_sd: FloatArray, group: IntArray) -> None:
    shapes = {array.shape for array in (likely, own_log_sd, shared_log_sd, group)}
    if len(shapes) != 1 or likely.ndim != 1:
        raise InvalidFact("likely, own_log_sd, shared_log_sd and group must have one value an order", "likely")
    for name, array in (("likely", likely), ("own_log_sd", own_log_sd), ("shared_log_sd", shared_log_sd)):
        if not (np.isfinite(array) & (array >= 0)).all():
            raise InvalidFact("must be finite and 0 or more", name)


@cache
def _quadrature() -> tuple[FloatArray, FloatArray]:
    """Nodes and weights; the same for every season, and slow to find."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(QUADRATURE_NODES)
    return nodes, weights


def _given_shared(
    likely: FloatArray, own_log_sd: FloatArray, shared_log_sd: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Quadrature weights over Z [node], and each order's mean given Z [node, order]."""
    nodes, weights = _quadrature()
    given = np.exp(np.outer(nodes, shared_log_sd)) * (likely * np.exp(own_log_sd**2 / 2))
    return weights / weights.sum(), given


def group_moments(likely: FloatArray, own_log_sd: FloatArray, shared_log_sd: FloatArray) -> tuple[float, float, float]:
    """Mean, variance and third central moment of the total of orders that share one error.

    Given Z = z the orders are independent lognormals, so that their mean f, variance v and third moment k add up; over
    Z:  mean E f,  variance E (f - Ef)^2 + E v,  third E (f - Ef)^3 + 3 E (f - Ef) v + E k.
    """
    _, given = _given_shared(likely, own_log_sd, shared_log_sd)
    variance, third = _own_parts(own_log_sd)
    mean, around, skew = _over_shared(given.sum(axis=1), given**2 @ variance, given**3 @ third)
    return float(mean), float(around), float(skew)


def _own_parts(own_log_sd: FloatArray) -> tuple[FloatArray, FloatArray]:
    """What an order's mean given Z, squared and cubed, is multiplied by for its variance and its third moment."""
    w = np.exp(own_log_sd**2)
    return w - 1, (w - 1) ** 2 * (w + 2)


def _over_shared(f: FloatArray, v: FloatArray, k: FloatArray) -> tuple[Any, Any, Any]:
    """Mean, variance and third central moment over Z, of [node] or of many totals at once [node, total]."""
    weights = _quadrature()[1]
    weights = weights / weights.sum()
    mean = weights @ f
    off = f - mean
    return mean, weights @ (off**2 + v), weights @ (off**3 + 3 * off * v + k)


def shared_and_own_variance(
    likely: FloatArray, own_log_sd: FloatArray, shared_log_sd: FloatArray
) -> tuple[float, float]:
    """The variance of the total of orders that share one error, parted into Var f(Z) and E v(Z); exact.

        Var f = sum over pairs of orders of m_i m_j (e^(s_i s_j) - 1),   m_i = M_i e^((own_i^2 + s_i^2) / 2)
        E v   = sum over orders of m_i^2 e^(s_i^2) (e^(own_i^2) - 1)

    Computed by the same quadrature as `group_moments`, so that both parts add up to its variance.
    """
    weights, given = _given_shared(likely, own_log_sd, shared_log_sd)
    totals = given.sum(axis=1)
    off = totals - float(weights @ totals)
    own = (given**2) @ np.expm1(own_log_sd**2)
    return float(weights @ off**2), float(weights @ own)


def fit_lognormal(mean: float, variance: float, third: float) -> SeasonFit:
    """Shifted lognormal with these moments: skewness = (w + 2) sqrt(w - 1), w = e^(sigma^2)."""
    if variance <= 0:
        return SeasonFit(mean, 0.0, mean, 0.0, 0.0)
    sd = math.sqrt(variance)
    skewness = max(third / variance**1.5, 1e-6)
    # sqrt(w - 1) = x solves x^3 + 3 x = skewness.
    half = skewness / 2
    root = (half + math.sqrt(half**2 + 1)) ** (1 / 3)
    x = root - 1 / root
    sigma = math.sqrt(math.log1p(x**2))
    scale = sd / x
    return SeasonFit(mean, sd, mean - scale, math.log(scale) - sigma**2 / 2, sigma)


def season_fit(likely: FloatArray, own_log_sd: FloatArray, shared_log_sd: FloatArray, group: IntArray) -> SeasonFit:
    """The total of a season's orders; `group` numbers the rates that orders share (one group a method)."""
    _check(likely, own_log_sd, shared_log_sd, group)
    moments = [
        group_moments(likely[rows], own_log_sd[rows], shared_log_sd[rows])
        for rows in (group == number for number in np.unique(group))
    ]
    mean, variance, third = (math.fsum(part) for part in zip(*moments, strict=True)) if moments else (0.0, 0.0, 0.0)
    return fit_lognormal(mean, variance, third)


def course_fit(
    likely: FloatArray, own_log_sd: FloatArray, shared_log_sd: FloatArray, group: IntArray
) -> list[SeasonFit]:
    """`season_fit` of many totals [total, order] of the same orders, whose common errors are read once."""
    moments = np.zeros((3, len(likely)))
    for number in np.unique(group):
        rows = group == number
        _, given = _given_shared(np.ones(rows.sum()), own_log_sd[rows], shared_log_sd[rows])
        variance, third = _own_parts(own_log_sd[rows])
        amounts = likely[:, rows].T
        parts = given @ amounts, given**2 @ (amounts**2 * variance[:, None]), given**3 @ (amounts**3 * third[:, None])
        moments += _over_shared(*parts)
    return [fit_lognormal(*one) for one in moments.T.tolist()]


def totals_fit(
    likely: FloatArray, own_log_sd: FloatArray, shared_log_sd: FloatArray, group: IntArray, total: IntArray
) -> list[SeasonFit]:
    """`season_fit` of totals that share no order; `total` numbers them from 0, each with one order at least."""
    _check(likely, own_log_sd, shared_log_sd, group)
    if not len(likely):
        return []
    order = np.lexsort((group, total))
    likely, own_log_sd, shared_log_sd = (array[order] for array in (likely, own_log_sd, shared_log_sd))
    group, total = group[order], total[order]
    begins = np.r_[True, (np.diff(total) != 0) | (np.diff(group) != 0)]
    starts = np.flatnonzero(begins)
    _, given = _given_shared(likely, own_log_sd, shared_log_sd)
    variance, third = _own_parts(own_log_sd)
    parts = (np.add.reduceat(part, starts, axis=1) for part in (given, given**2 * variance, given**3 * third))
    moments = [np.bincount(total[starts], weights=part) for part in _over_shared(*parts)]
    return [fit_lognormal(*one) for one in zip(*(part.tolist() for part in moments), strict=True)]


def season_draws(
    likely: FloatArray,
    own_log_sd: FloatArray,
    shared_log_sd: FloatArray,
    group: IntArray,
    *,
    draws: int,
    seed: int,
) -> FloatArray:
    """Simulated totals [draw]; the same seed gives the same draws."""
    _check(likely, own_log_sd, shared_log_sd, group)
    random = np.random.default_rng(seed)
    order = np.argsort(group, kind="stable")
    likely, own_log_sd, shared_log_sd = likely[order], own_log_sd[order], shared_log_sd[order]
    numbers, starts = np.unique(group[order], return_index=True)
    bounds = [*starts.tolist(), len(order)]
    totals = np.empty(draws)
    step = max(1, BLOCK_NUMBERS // max(1, len(order)))
    for first in range(0, draws, step):
        rows = min(step, draws - first)
        shared = random.standard_normal((rows, len(numbers)))
        block = random.standard_normal((rows, len(order)))
        block *= own_log_sd
        for index in range(len(numbers)):
            part = slice(bounds[index], bounds[index + 1])
            block[:, part] += shared[:, index, None] * shared_log_sd[part]
        np.exp(block, out=block)
        totals[first : first + rows] = block @ likely
    return totals


def draws_range(totals: FloatArray) -> Range:
    """Range of simulated totals."""
    low, likely, high = np.quantile(totals, (LOW, 0.5, HIGH))
    return Range(*(np.asarray(value) for value in (low, likely, high, totals.mean())))


def pert_mean_sd(optimistic: float, most_likely: float, pessimistic: float) -> tuple[float, float]:
    """Three-point mean (O + 4M + P) / 6 and standard deviation (P - O) / 6."""
    return (optimistic + 4 * most_likely + pessimistic) / 6, (pessimistic - optimistic) / 6


def triangular_mean(optimistic: float, most_likely: float, pessimistic: float) -> float:
    """Mean of a triangular distribution (O + M + P) / 3; not the same as the three-point mean."""
    return (optimistic + most_likely + pessimistic) / 3
