"""What to buy for a season: containers at least cost that cover the need beyond the stock."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce

from estimating.errors import InvalidFact

# Above this many steps of volume, the container with the best price by volume fills the bulk and the rest is exact.
EXACT_STEPS = 200_000


@dataclass(frozen=True, order=True)
class Container:
    """A size a product is sold in."""

    volume_ml: int
    price_cents: int

    def __post_init__(self) -> None:
        if self.volume_ml <= 0:
            raise InvalidFact("must be above 0", "volume_ml")
        if self.price_cents < 0:
            raise InvalidFact("must be 0 or more", "price_cents")


@dataclass(frozen=True)
class Purchase:
    """How many of each container to buy; `spare_ml` is what will be left over, stock included."""

    counts: tuple[tuple[Container, int], ...]
    cost_cents: int
    spare_ml: int


def _cheapest_steps(steps: int, sizes: Sequence[tuple[int, int]]) -> list[int]:
    """For each volume up to `steps`, the container bought last in the cheapest cover (least volume of equals)."""
    best: list[tuple[int, int]] = [(0, 0)]
    last = [0]
    for need in range(1, steps + 1):
        options = []
        for index, (size, price) in enumerate(sizes):
            cost, volume = best[max(0, need - size)]
            options.append((cost + price, volume + size, index))
        cost, volume, index = min(options)
        best.append((cost, volume))
        last.append(index)
    return last


def _count(need_ml: int, containers: Sequence[Container]) -> dict[Container, int]:
    """Containers of the cheapest cover of a need."""
    counts = dict.fromkeys(containers, 0)
    grain = reduce(math.gcd, (container.volume_ml for container in containers))
    steps = -(-need_ml // grain)
    if steps > EXACT_STEPS:
        bulk = min(containers, key=lambda found: (found.price_cents / found.volume_ml, -found.volume_ml))
        counts[bulk] = (steps - EXACT_STEPS) * grain // bulk.volume_ml + 1
        steps = max(0, -(-(need_ml - counts[bulk] * bulk.volume_ml) // grain))
    last = _cheapest_steps(steps, [(found.volume_ml // grain, found.price_cents) for found in containers])
    while steps > 0:
        container = containers[last[steps]]
        counts[container] += 1
        steps = max(0, steps - container.volume_ml // grain)
    return counts


def containers_to_buy(need_ml: int, stock_ml: int, containers: Sequence[Container]) -> Purchase:
    """Least cost that covers `need_ml` beyond `stock_ml`; of equal costs, the least left over."""
    if need_ml < 0:
        raise InvalidFact("must be 0 or more", "need_ml")
    short_ml = max(0, need_ml - max(0, stock_ml))
    if short_ml and not containers:
        raise InvalidFact("no container is on sale for this product", "containers")
    counts = _count(short_ml, sorted(set(containers))) if short_ml else {}
    bought_ml = sum(container.volume_ml * count for container, count in counts.items())
    return Purchase(
        tuple((container, count) for container, count in counts.items() if count),
        sum(container.price_cents * count for container, count in counts.items()),
        max(0, stock_ml) + bought_ml - need_ml,
    )
