"""What stock is worth as it goes: first in first out by lot, or a moving average. Cents are never lost:
value in - value out = value left.

Amounts are whole numbers of the stock's small unit. What is taken must be there: whoever takes what is not says
another price for it. Source: common practice of inventory accounting.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from estimating.errors import InvalidFact
from estimating.pricing import to_cents


@dataclass(frozen=True)
class Layer:
    """What is left of a receipt: its lot, amount and worth."""

    lot: str
    amount: int
    cents: int


@dataclass(frozen=True)
class Taken:
    """A taking's worth, the layers that it leaves, and what it took of each layer (in the order taken)."""

    cents: int
    layers: tuple[Layer, ...]
    taken: tuple[Layer, ...]


def part_cents(cents: int, amount: int, part: int) -> int:
    """Worth of a part of what is worth `cents`: cents x part / amount, half up; the whole part is worth it all."""
    return to_cents(Fraction(cents * part, 100 * amount))


def fifo_take(layers: Sequence[Layer], amount: int) -> Taken:
    """Take an amount from the oldest layers first.

        worth of a layer's part = its cents x part / its amount, half up;   of a whole layer, all of its cents

    InvalidFact: a negative amount, or more than there is.
    """
    if not 0 <= amount <= sum(layer.amount for layer in layers):
        raise InvalidFact("must be from 0 to what is on hand", "amount")
    rest, left, taken = amount, list[Layer](), list[Layer]()
    for layer in layers:
        part = min(layer.amount, rest)
        cents = part_cents(layer.cents, layer.amount, part) if part else 0
        rest -= part
        if part:
            taken.append(Layer(layer.lot, part, cents))
        if part < layer.amount:
            left.append(Layer(layer.lot, layer.amount - part, layer.cents - cents))
    return Taken(sum(layer.cents for layer in taken), tuple(left), tuple(taken))


def average_take(amount_on_hand: int, cents_on_hand: int, amount: int) -> int:
    """Worth, cents, of an amount taken at the moving average: cents on hand x amount / amount on hand, half up.

    Taking all that there is takes all cents. InvalidFact: a negative amount, or more than there is.
    """
    if not 0 <= amount <= amount_on_hand:
        raise InvalidFact("must be from 0 to what is on hand", "amount")
    return part_cents(cents_on_hand, amount_on_hand, amount) if amount else 0
