"""How good the estimates of a season were: bias, spread, error by the hectare, and how often actuals fell inside
low–high.

All on logs of actual over estimated hours, so that twice and half are equally far off. Any ratio above 0 is taken: work
that took 1.5 to 8.6 times the plan is on record (McConnachie et al. 2012, Biol. Conserv., abstract
https://sasdghub.up.ac.za/article/hdl-handle-net-10019-1-113051), and a report that leaves such orders out flatters.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist

from estimating.errors import InvalidFact
from estimating.mixed import student_quantile

LEVEL = 0.80
PROMISED = 0.80  # low–high is the 10 and 90% points
SQUARE_METERS_A_HECTARE = 10_000


@dataclass(frozen=True)
class Judged:
    """One closed order beside its estimate; hours on one basis. Groups by name: method, growth form, crew, site."""

    order: str
    estimated_hours: float
    low_hours: float
    high_hours: float
    actual_hours: float
    treated_area_m2: float
    groups: Mapping[str, str]

    @property
    def inside(self) -> bool:
        """Whether the actual hours fell within low–high."""
        return self.low_hours <= self.actual_hours <= self.high_hours


@dataclass(frozen=True)
class Accuracy:
    """Of a group of orders. `bias` is the geometric mean of actual over estimated; its interval and the log spread are
    None where one order alone cannot tell. `rmse_hours_per_ha` is None where no treated area is known."""

    name: str
    orders: int
    estimated_hours: float
    actual_hours: float
    bias: float
    bias_low: float | None
    bias_high: float | None
    log_spread: float | None
    rmse_hours_per_ha: float | None
    inside: int
    inside_share: float
    inside_low: float
    inside_high: float

    @property
    def promise_kept(self) -> bool:
        """Whether the promised 80% lies within the interval of the share inside low–high."""
        return self.inside_low <= PROMISED <= self.inside_high


def log_accuracy_ratio(predicted: float, actual: float) -> float:
    """ln(predicted / actual): the same size for twice and for half. Source: Tofallis 2015, J. Oper. Res. Soc. 66."""
    if not (math.isfinite(predicted) and math.isfinite(actual) and predicted > 0 and actual > 0):
        raise InvalidFact("must be finite and above 0", "predicted" if not predicted > 0 else "actual")
    return math.log(predicted / actual)


def geometric_bias(predicted: Sequence[float], actual: Sequence[float]) -> float:
    """exp(mean ln(actual / predicted)): what estimates must be multiplied by so that the logs' mean error is 0."""
    logs = [-log_accuracy_ratio(p, a) for p, a in zip(predicted, actual, strict=True)]
    if not logs:
        raise InvalidFact("needs at least one order", "predicted")
    return math.exp(math.fsum(logs) / len(logs))


def rmse(predicted: Sequence[float], actual: Sequence[float]) -> float:
    """Root mean square of actual - predicted, in their own unit."""
    squares = [(a - p) ** 2 for p, a in zip(predicted, actual, strict=True)]
    if not squares:
        raise InvalidFact("needs at least one order", "predicted")
    return math.sqrt(math.fsum(squares) / len(squares))


def wilson_interval(successes: int, trials: int, level: float = LEVEL) -> tuple[float, float]:
    """Interval of a share seen as `successes` in `trials`: Wilson's score interval (1927, from memory)."""
    if not 0 <= successes <= trials or trials < 1:
        raise InvalidFact("must be from 0 to the number of trials, of which there is at least one", "successes")
    z = NormalDist().inv_cdf((1 + level) / 2)
    share, z2 = successes / trials, z * z
    middle = (share + z2 / (2 * trials)) / (1 + z2 / trials)
    reach = z / (1 + z2 / trials) * math.sqrt(share * (1 - share) / trials + z2 / (4 * trials**2))
    return max(0.0, middle - reach), min(1.0, middle + reach)


def accuracy(orders: Sequence[Judged], name: str = "All") -> Accuracy:
    """Of orders together; `InvalidFact` where there are none or hours are not above 0."""
    bias = geometric_bias([row.estimated_hours for row in orders], [row.actual_hours for row in orders])
    logs = [math.log(row.actual_hours / row.estimated_hours) for row in orders]
    spread = _log_spread(logs)
    reach = 0.0 if spread is None else student_quantile((1 + LEVEL) / 2, len(logs) - 1) * spread / math.sqrt(len(logs))
    inside = sum(row.inside for row in orders)
    low, high = wilson_interval(inside, len(orders))
    return Accuracy(
        name=name,
        orders=len(orders),
        estimated_hours=math.fsum(row.estimated_hours for row in orders),
        actual_hours=math.fsum(row.actual_hours for row in orders),
        bias=bias,
        bias_low=None if spread is None else bias * math.exp(-reach),
        bias_high=None if spread is None else bias * math.exp(reach),
        log_spread=spread,
        rmse_hours_per_ha=_rmse_by_hectare(orders),
        inside=inside,
        inside_share=inside / len(orders),
        inside_low=low,
        inside_high=high,
    )


def _log_spread(logs: Sequence[float]) -> float | None:
    """Standard deviation of the logs."""
    if len(logs) < 2:
        return None
    mean = math.fsum(logs) / len(logs)
    return math.sqrt(math.fsum((value - mean) ** 2 for value in logs) / (len(logs) - 1))


def _rmse_by_hectare(orders: Sequence[Judged]) -> float | None:
    with_area = [(row, row.treated_area_m2 / SQUARE_METERS_A_HECTARE) for row in orders if row.treated_area_m2 > 0]
    if not with_area:
        return None
    return rmse([row.estimated_hours / ha for row, ha in with_area], [row.actual_hours / ha for row, ha in with_area])


def accuracy_by(orders: Iterable[Judged], group: str) -> tuple[Accuracy, ...]:
    """The same for each value of a group, by name. An order counts once: in the group of most of its hours."""
    found: dict[str, list[Judged]] = {}
    for row in orders:
        found.setdefault(row.groups[group], []).append(row)
    return tuple(accuracy(rows, name) for name, rows in sorted(found.items()))
