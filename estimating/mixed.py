"""A mixed model of logs with crossed groups, solved whole: small data, dense matrices.

    y = mu + sum over factors k of Z_k b_k + e,   b_k ~ N(0, tau_k^2 I),   e_i ~ N(0, sigma^2 / w_i)

y [n] are logs; Z_k [n, q_k] says which level of factor k a row belongs to (0 and 1, or shares that sum to 1 where a row
belongs to several); w [n] are weights, 1 unless a row is doubted. With scales r_k = tau_k / sigma the equations are
those of Henderson, in which r_k = 0 is no special case:

    C = D [1 Z]' W [1 Z] D + diag(0, 1, ..., 1),   D = diag(1, r_k for each level of k),   C s = D [1 Z]' W y

(mu, b) = D s, covariance of their errors sigma^2 D C^-1 D, RSS = y' W y - s' C s, sigma^2 = RSS / (n - 1), and the
restricted likelihood is -2 log L = (n - 1) log RSS + log |C| + constant. Source: C. R. Henderson's mixed model
equations (from memory); checked in the tests against another program's fits of the same data.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from statistics import NormalDist

import numpy as np

from estimating.columns import FloatArray, IntArray
from estimating.errors import InvalidFact

# Hours are typed to five minutes or so: no data is taken to be sharper than this, as a log.
SHARPEST_LOG = 0.01
# Before data, a scale r is half-normal(1): groups differ by about as much as orders of a group, seldom by thrice that.
SCALES_A_FACTOR = 6
GOLDEN = (math.sqrt(5) - 1) / 2
NORMAL = NormalDist()


@dataclass(frozen=True)
class Equations:
    """The sums that every fit of the same data and weights needs; `factor` numbers each column, -1 for mu."""

    matrix: FloatArray
    right: FloatArray
    square: float
    rows: int
    factor: IntArray

    @property
    def factors(self) -> int:
        """How many factors there are."""
        return int(self.factor.max()) + 1


@dataclass(frozen=True)
class Solved:
    """For each set of scales: -2 log of the restricted likelihood, effects (mu first), C^-1 scaled, and sigma^2."""

    deviance: FloatArray
    effects: FloatArray
    spread: FloatArray
    sigma2: FloatArray


def equations(y: FloatArray, factors: Sequence[FloatArray], weights: FloatArray | None = None) -> Equations:
    """Sums over the rows; `InvalidFact` where shapes differ, a number is not finite, or fewer than 2 rows are given."""
    if len(y) < 2:
        raise InvalidFact("needs at least 2 rows", "y")
    given = np.ones(len(y)) if weights is None else weights
    for name, array in (("y", y), ("weights", given), *(("factors", factor) for factor in factors)):
        if len(array) != len(y) or not np.isfinite(array).all():
            raise InvalidFact("must have one finite value for each y", name)
    if (given <= 0).any():
        raise InvalidFact("must be above 0", "weights", int(np.flatnonzero(given <= 0)[0]))
    columns = np.column_stack([np.ones(len(y)), *factors])
    weighted = columns * given[:, None]
    number = [np.array([-1]), *(np.full(factor.shape[1], k) for k, factor in enumerate(factors))]
    return Equations(columns.T @ weighted, weighted.T @ y, float(given @ y**2), len(y), np.concatenate(number))


def solve(known: Equations, scales: FloatArray, least_rss: float = 0.0) -> Solved:
    """All sets of scales [sets, factors] at once."""
    d = np.concatenate([np.ones((len(scales), 1)), scales[:, known.factor[1:]]], axis=1)
    ridge = np.diag(np.r_[0.0, np.ones(len(known.factor) - 1)])
    inverse = np.linalg.inv(known.matrix * d[:, :, None] * d[:, None, :] + ridge)
    right = known.right * d
    solution = np.einsum("gij,gj->gi", inverse, right)
    rss = np.maximum(known.square - np.einsum("gi,gi->g", solution, right), max(least_rss, 1e-300))
    deviance = (known.rows - 1) * np.log(rss) - np.linalg.slogdet(inverse)[1]
    spread = inverse * d[:, :, None] * d[:, None, :]
    return Solved(deviance, solution * d, spread, rss / (known.rows - 1))


@dataclass(frozen=True)
class Fit:
    """One fit: `effects` by factor, `tau` by factor and `sigma` as logs."""

    mu: float
    effects: tuple[FloatArray, ...]
    tau: FloatArray
    sigma: float


def _lowest(deviance: Callable[[float], float], rounds: int = 32) -> float:
    """The place in 0 to 1 where a function of one hollow is lowest: golden section, its ends looked at too."""
    low, high = 0.0, 1.0
    a, b = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_a, at_b = deviance(a), deviance(b)
    for _ in range(rounds):
        if at_a < at_b:
            high, b, at_b = b, a, at_a
            a = high - GOLDEN * (high - low)
            at_a = deviance(a)
        else:
            low, a, at_a = a, b, at_b
            b = low + GOLDEN * (high - low)
            at_b = deviance(b)
    found = (low + high) / 2
    return 0.0 if deviance(0.0) <= deviance(found) else found


def reml(y: FloatArray, factors: Sequence[FloatArray], weights: FloatArray | None = None, rounds: int = 40) -> Fit:
    """The fit by restricted maximum likelihood, one scale after the other until none moves; tau may come out 0."""
    known = equations(y, factors, weights)
    starts = grid(known.factors)
    scales = starts[int(np.argmin(solve(known, starts).deviance))]
    for _ in range(rounds):
        before = scales.copy()
        for k in range(known.factors):
            scales[k] = _scale(_lowest(lambda place, k=k: _deviance(known, scales, k, place)))  # type: ignore[misc]
        if np.allclose(before, scales, atol=1e-5, rtol=1e-5):
            break
    found = solve(known, scales[None, :])
    sigma = math.sqrt(found.sigma2[0])
    by_factor = tuple(found.effects[0][known.factor == k] for k in range(known.factors))
    return Fit(float(found.effects[0][0]), by_factor, scales * sigma, sigma)


def _scale(place: float) -> float:
    """From 0 to 1 to a scale from 0 to very large."""
    return place / max(1 - place, 1e-6)


def _deviance(known: Equations, scales: FloatArray, k: int, place: float) -> float:
    tried = scales.copy()
    tried[k] = _scale(place)
    return float(solve(known, tried[None, :]).deviance[0])


def grid(factors: int, points: int = SCALES_A_FACTOR) -> FloatArray:
    """Sets of scales [points^factors, factors] that are equally likely before any data."""
    one = [NORMAL.inv_cdf((1 + (n + 0.5) / points) / 2) for n in range(points)]
    return np.array(list(product(one, repeat=factors))).reshape(-1, factors)


def normal_cdf(z: FloatArray) -> FloatArray:
    """Chance below z: Abramowitz and Stegun 7.1.26 (from memory), within 1.5e-7."""
    x = np.abs(z) / math.sqrt(2)
    t = 1 / (1 + 0.3275911 * x)
    tail = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    above = tail * np.exp(-(x**2)) / 2
    return np.where(z > 0, 1 - above, above)


def student_cdf(t: FloatArray, dof: float) -> FloatArray:
    """Chance below t of Student's distribution, by Wallace's approximation (1959, from memory): within 0.001 from 3
    degrees of freedom on, 0.008 at 1."""
    z = (8 * dof + 1) / (8 * dof + 3) * np.sqrt(dof * np.log1p(t**2 / dof))
    return normal_cdf(np.sign(t) * z)


def student_quantile(chance: float, dof: float) -> float:
    """The t that is not passed with a chance; the inverse of `student_cdf`."""
    z = NORMAL.inv_cdf(chance) * (8 * dof + 3) / (8 * dof + 1)
    return math.copysign(math.sqrt(dof * math.expm1(z**2 / dof)), z)


@dataclass(frozen=True)
class Known:
    """What is known of a sum of effects: its mean, log standard deviation and the interval that was asked for."""

    mean: float
    sd: float
    low: float
    high: float


@dataclass(frozen=True)
class Posterior:
    """Fits over the grid of scales with their chances, so that what is not known of the scales widens what is said.

    `inflation` multiplies sigma^2 where doubted rows were given less weight (see `robust_weights`).
    """

    chance: FloatArray
    scales: FloatArray
    solved: Solved
    dof: int
    factor: IntArray
    inflation: float = 1.0

    @cached_property
    def effects(self) -> FloatArray:
        """Mean effects, mu first."""
        return np.asarray(self.chance @ self.solved.effects)

    @property
    def sigma(self) -> float:
        """Log standard deviation of one row."""
        return math.sqrt(self.inflation * float(self.chance @ self.solved.sigma2))

    def tau(self, factor: int) -> float:
        """Log standard deviation between the levels of a factor, averaged over the grid."""
        return math.sqrt(float(self.chance @ (self.solved.sigma2 * self.scales[:, factor] ** 2)))

    def of(self, sums: FloatArray, level: float, *, chances: FloatArray | None = None, new_row: bool = False) -> Known:
        """The interval of a weighted sum of mu and the effects, and of a new row of its own.

        `sums` [columns], or [kinds, columns] where it may be one of several kinds with their `chances`.
        """
        rows = np.atleast_2d(sums)
        kinds = np.ones(len(rows)) / len(rows) if chances is None else chances
        chance = np.outer(self.chance, kinds).ravel()
        middles = (self.solved.effects @ rows.T).ravel()
        variance = np.einsum("ki,gij,kj->gk", rows, self.solved.spread, rows, optimize=True)
        variance = (variance + float(new_row)) * self.inflation * self.solved.sigma2[:, None]
        sds = np.sqrt(variance.ravel())
        mean = float(chance @ middles)
        widening = self.dof / (self.dof - 2) if self.dof > 2 else 3.0
        sd = math.sqrt(float(chance @ (widening * sds**2 + (middles - mean) ** 2)))
        low, high = (self._quantile(chance, middles, sds, end) for end in ((1 - level) / 2, (1 + level) / 2))
        return Known(mean, sd, low, high)

    def _quantile(self, chance: FloatArray, middles: FloatArray, sds: FloatArray, wanted: float) -> float:
        """Of the mixture, between the lowest and the highest quantile of its parts."""
        ends = middles + sds * student_quantile(wanted, self.dof)
        low, high = float(ends.min()), float(ends.max())
        for _ in range(26):
            middle = (low + high) / 2
            below = float(chance @ student_cdf((middle - middles) / np.maximum(sds, 1e-12), self.dof))
            low, high = (middle, high) if below < wanted else (low, middle)
        return (low + high) / 2


def posterior(
    y: FloatArray,
    factors: Sequence[FloatArray],
    weights: FloatArray | None = None,
    *,
    inflation: float = 1.0,
    points: int = SCALES_A_FACTOR,
) -> Posterior:
    """Solve over the grid; grid points that the data makes very unlikely are left out."""
    known = equations(y, factors, weights)
    scales = grid(len(factors), points)
    solved = solve(known, scales, least_rss=(known.rows - 1) * SHARPEST_LOG**2)
    chance = np.exp(-(solved.deviance - solved.deviance.min()) / 2)
    kept = chance > 1e-4 * chance.max()
    held = Solved(*(part[kept] for part in (solved.deviance, solved.effects, solved.spread, solved.sigma2)))
    return Posterior(chance[kept] / chance[kept].sum(), scales[kept], held, known.rows - 1, known.factor, inflation)


def huber_inflation(clip: float) -> float:
    """What weights min(1, clip / |z|) take off sigma^2 where the data is normal: E w z^2 = 2 Phi(clip) - 1; one over
    it."""
    return 1 / (2 * NORMAL.cdf(clip) - 1)


def robust_weights(
    y: FloatArray, factors: Sequence[FloatArray], *, clip: float, points: int = SCALES_A_FACTOR, rounds: int = 30
) -> FloatArray:
    """Huber's weights: 1 within `clip` standard deviations of what the fit says, less beyond, never 0.

    The pull of one row ends at `clip` standard deviations however far it lies; fitted over and over until the weights
    stand still.
    """
    away = np.abs(y - np.median(y))
    weights = _huber(away, max(1.4826 * float(np.median(away)), SHARPEST_LOG), clip)
    columns = np.column_stack([np.ones(len(y)), *factors])
    for _ in range(rounds):
        fit = posterior(y, factors, weights, inflation=huber_inflation(clip), points=points)
        again = _huber(np.abs(y - columns @ fit.effects), fit.sigma, clip)
        if np.abs(again - weights).max() < 0.005:
            return again
        weights = again
    return weights


def _huber(away: FloatArray, sigma: float, clip: float) -> FloatArray:
    return np.minimum(1.0, clip * sigma / np.maximum(away, 1e-12))
