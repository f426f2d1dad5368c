"""Money: exact arithmetic, one rounding, one way to share a total out.

Prices and rates come as integers of 1/10,000 dollar (`_e4`), quantities as integers of a small unit (seconds,
microlitres, thousandths of a mile); a cost stays an exact ratio until `to_cents`. Rounding is half up, away from zero.
"""

from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import numpy as np

from estimating.columns import FloatArray, IntArray
from estimating.errors import InvalidFact
from estimating.units import SECONDS_PER_HOUR

E4_PER_CENT = 100
MICROLITRES_PER_LITRE = 1_000_000
PARTS_PER_MILE = 1000
PARTS_PER_BLADE = 1000


def to_cents(value: Decimal | Fraction) -> int:
    """Dollars to whole cents, half up (away from zero): 0.005 -> 1, -0.125 -> -13. The one rounding of money."""
    if isinstance(value, Fraction):
        size = (abs(value.numerator) * 100 * 2 + value.denominator) // (value.denominator * 2)
        return size if value >= 0 else -size
    if isinstance(value, Decimal):
        return int((value * 100).to_integral_value(ROUND_HALF_UP))
    raise InvalidFact("money is rounded from Decimal or Fraction, never from binary fractions", "value")


def ratio_cents(numerator: IntArray, denominator: int) -> IntArray:
    """`to_cents` for arrays of non-negative amounts given as numerator / denominator in cents."""
    return (2 * numerator + denominator) // (2 * denominator)


def float_cents(amounts_cents: FloatArray) -> IntArray:
    """Whole cents of amounts that are estimates by nature (a range's ends), half up; a missing number counts as 0."""
    return np.floor(np.where(np.isnan(amounts_cents), 0.0, amounts_cents) + 0.5).astype(np.int64)


def split_cents(total_cents: int, weights: Sequence[Decimal | Fraction | int]) -> list[int]:
    """Share a total by weights so that the parts add up to it: largest remainder, ties to the earlier part.

    A negative total is shared like its positive and turned back. Weights are 0 or more; all zero with something to
    share is an error, never a silent equal split.
    """
    shares = [Fraction(weight) for weight in weights]
    if any(share < 0 for share in shares):
        raise InvalidFact("must not be negative", "weights")
    whole = sum(shares, Fraction(0))
    if whole == 0:
        if total_cents:
            raise InvalidFact("are all zero, but there is an amount to share", "weights")
        return [0] * len(shares)
    exact = [abs(total_cents) * share / whole for share in shares]
    parts = [int(part) for part in exact]
    left = abs(total_cents) - sum(parts)
    by_remainder = sorted(range(len(parts)), key=lambda index: (parts[index] - exact[index], index))
    for index in by_remainder[:left]:
        parts[index] += 1
    return [part if total_cents >= 0 else -part for part in parts]


def hours_cents(seconds: int, rate_e4_per_hour: int) -> int:
    """Cost of working time at a rate."""
    return to_cents(Fraction(seconds * rate_e4_per_hour, SECONDS_PER_HOUR * E4_PER_CENT * 100))


def mileage_cents(thousandths_of_mile: int, rate_e4_per_mile: int) -> int:
    """Cost of a distance at a rate per mile; miles are what an odometer reads and a rate is set in."""
    return to_cents(Fraction(thousandths_of_mile * rate_e4_per_mile, PARTS_PER_MILE * E4_PER_CENT * 100))


def product_cents(volume_ul: int, price_e4_per_l: int) -> int:
    """Cost of a volume of product at a price per litre."""
    return to_cents(Fraction(volume_ul * price_e4_per_l, MICROLITRES_PER_LITRE * E4_PER_CENT * 100))


def blended_rate_e4(people: Mapping[str, int], rate_e4_per_hour: Mapping[str, int]) -> Fraction:
    """A crew's average rate an hour by its make-up, kept as an exact ratio."""
    size = sum(people.values())
    if size < 1:
        raise InvalidFact("a crew has at least one person", "people")
    return Fraction(sum(count * rate_e4_per_hour[role] for role, count in people.items()), size)
