"""What a fund will have paid when the season ends: what is spent, and the range of what is still to come.

    total = spent + open

`spent` is certain. `open` is the sum of what issued orders, and work that is planned and not ordered, will cost. Each
is lognormal around its estimate M with an error of its own and one that it shares with all work of the same method (see
`estimating.spread`); a fund that pays a share of an order bears that share of M with the same log spread. The sum is
fitted by its mean, variance and skewness (`season_fit`), so its points and chances are computed, not drawn. Its error
against draws is stated in `estimating.spread`; `forecast_draws` draws.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimating.columns import FloatArray, IntArray
from estimating.errors import InvalidFact
from estimating.spread import SeasonFit, season_draws, season_fit


@dataclass(frozen=True)
class Coming:
    """Work that is still to be paid. `likely` is the 50% point in dollars of what the fund bears; log spreads are
    without unit; work of one `method` shares an error."""

    likely: float
    own_log_sd: float
    shared_log_sd: float
    method: str


@dataclass(frozen=True)
class Forecast:
    """In dollars. Low and high are the 10 and 90% points of the total, likely the 50% point."""

    spent: float
    open: SeasonFit

    @property
    def low(self) -> float:
        return self.spent + self.open.low

    @property
    def likely(self) -> float:
        return self.spent + self.open.likely

    @property
    def high(self) -> float:
        return self.spent + self.open.high

    @property
    def mean(self) -> float:
        return self.spent + self.open.mean

    def chance_over(self, budget: float) -> float:
        """Chance that the total passes a budget in dollars."""
        return self.open.chance_above(budget - self.spent)


def forecast(spent: float, coming: Sequence[Coming]) -> Forecast:
    """`spent` in dollars. Raises InvalidFact where a figure is not finite, or an amount or spread is negative."""
    if not math.isfinite(spent):
        raise InvalidFact("must be finite", "spent")
    return Forecast(spent, season_fit(*_arrays(coming)))


def forecast_draws(spent: float, coming: Sequence[Coming], *, draws: int, seed: int) -> FloatArray:
    """The same by simulation: totals in dollars; the same seed gives the same draws."""
    return spent + season_draws(*_arrays(coming), draws=draws, seed=seed)


def _arrays(coming: Sequence[Coming]) -> tuple[FloatArray, FloatArray, FloatArray, IntArray]:
    methods = sorted({row.method for row in coming})
    table = np.array([(row.likely, row.own_log_sd, row.shared_log_sd) for row in coming], dtype=float).reshape(-1, 3)
    group = np.array([methods.index(row.method) for row in coming], np.int64)
    return table[:, 0], table[:, 1], table[:, 2], group
