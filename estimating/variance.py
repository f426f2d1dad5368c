"""Why a cost differs from its plan: price, hours, quantity and scope, which sum to the difference to the cent.

    P  planned cost              A  actual cost
    p  planned rate (a minute of labor, a unit of product), P over what was planned of it
    q  actual quantity in that unit
    d  share of the plan that was done, 0 to 1

    scope              P d - P          what was not done was not spent
    hours or quantity  p q - P d        more or less of it than the done part of the plan allows
    price              A - p q          each unit at another rate than planned

The parts are taken in this order (scope, then quantity at planned rates, then price at actual quantities), so that
each is measured on what the one before left, and together they are A - P: nothing is left over. Taken in another
order the parts would be others, by the product of two changes; that order is a convention of cost accounting (common
practice: quantity variance at standard price, price variance at actual quantity).

Where nothing was planned (P = 0, so that there is no rate), all of A is hours or quantity. Where nothing is measured
(mileage, contracts: no quantity), what scope leaves is quantity. Overtime premium and indirect costs are never planned
by themselves and are a price.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from estimating.errors import InvalidFact

Kind = Literal["hours", "quantity", "price"]


@dataclass(frozen=True)
class Spent:
    """One heap of cost beside its plan, in cents. `kind` says what its amount is measured in: minutes of labor,
    quantity of anything else, or nothing but a price. `rate` is the planned rate in cents a unit, None where there is
    none; `amount` the actual units; `done` the share of the plan that was done."""

    kind: Kind
    planned_cents: int
    actual_cents: int
    rate: Fraction | None
    amount: Fraction
    done: Fraction


@dataclass(frozen=True)
class Variance:
    """In cents; positive costs more than planned."""

    price_cents: int = 0
    hours_cents: int = 0
    quantity_cents: int = 0
    scope_cents: int = 0

    @property
    def total_cents(self) -> int:
        return self.price_cents + self.hours_cents + self.quantity_cents + self.scope_cents

    def __add__(self, other: "Variance") -> "Variance":
        return Variance(
            self.price_cents + other.price_cents,
            self.hours_cents + other.hours_cents,
            self.quantity_cents + other.quantity_cents,
            self.scope_cents + other.scope_cents,
        )


def variance(spent: Spent) -> Variance:
    """The difference of one heap in its parts; `total_cents` is actual less planned, exactly.

    Raises InvalidFact where `done` is not within 0 and 1 or the rate is negative.
    """
    if not 0 <= spent.done <= 1:
        raise InvalidFact("must lie within 0 and 1", "done")
    if spent.rate is not None and spent.rate < 0:
        raise InvalidFact("must be 0 or more", "rate")
    planned, actual = Fraction(spent.planned_cents), Fraction(spent.actual_cents)
    scope = planned * spent.done - planned
    left = actual - planned * spent.done
    if spent.kind == "price":
        price, amount = left, Fraction(0)
    elif spent.rate is None:
        price, amount = Fraction(0), left
    else:
        price = actual - spent.rate * spent.amount
        amount = left - price
    whole = in_cents([scope, amount, price])
    return Variance(
        price_cents=whole[2],
        hours_cents=whole[1] if spent.kind == "hours" else 0,
        quantity_cents=0 if spent.kind == "hours" else whole[1],
        scope_cents=whole[0],
    )


def in_cents(parts: Sequence[Fraction]) -> list[int]:
    """Exact parts of a whole number of cents as cents with the same sum: each rounded down, and what is missing given
    to the largest fractions, the earlier first where they tie (largest remainder, as costs are split)."""
    whole = [part.numerator // part.denominator for part in parts]
    missing = sum(parts) - sum(whole)
    if missing.denominator != 1:
        raise InvalidFact("must sum to whole cents", "parts")
    order = sorted(range(len(parts)), key=lambda place: (whole[place] - parts[place], place))
    for place in order[: int(missing)]:
        whole[place] += 1
    return whole
