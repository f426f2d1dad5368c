"""What a product's stock is worth as it comes and goes: one pool a product and unit, movement by movement."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from estimating.pricing import product_cents, split_cents, to_cents
from estimating.stock_value import Layer, average_take, fifo_take
from orders.costs.models import StockValue
from orders.supplies.models import StockMovement

Told = list[dict[str, Any]]  # which receipts: lot, amount, cents; signed like the movement
PoolKey = tuple[int, str]


@dataclass
class Pool:
    """Amount and value on hand, by lot as the layers say (`layers`) and as it stands on the shelf (`held`)."""

    amount: int = 0
    cents: int = 0
    layers: dict[str, list[int]] = field(default_factory=dict)
    held: dict[str, int] = field(default_factory=dict)
    prices_e4: dict[str, int] = field(default_factory=dict)
    valuations: set[str] = field(default_factory=set)

    def add(self, lot: str, price_e4: int, amount: int, cents: int, told: Told, valuation: str) -> None:
        self.amount += amount
        self.cents += cents
        self.held[lot] = self.held.get(lot, 0) + amount
        self.prices_e4[lot] = price_e4
        self.valuations.add(valuation)
        for part in told:
            layer = self.layers.setdefault(part["lot"], [0, 0])
            layer[0] += part["amount"]
            layer[1] += part["cents"]

    def valued(self, movement: StockMovement, valuation: str) -> tuple[int, Told]:
        """The signed value of a movement, and the layers behind it."""
        lot, price_e4 = str(movement.lot.public_id), movement.lot.price_e4
        if movement.amount > 0:
            return _told(lot, movement.amount, self._came(movement, price_e4, valuation))
        take = -movement.amount
        if self._is_last(lot, take, movement.kind, valuation):
            return _told(lot, -take, -self.cents)
        if valuation == "lot" and self.valuations <= {"lot"} and movement.kind != "use":
            return _told(lot, -take, -self._of_lot(lot, take, price_e4))
        if valuation == "fifo":
            return self._first_out(lot, take, price_e4)
        if valuation == "average" and self.amount >= take > 0 and self.cents > 0:
            return _told(lot, -take, -average_take(self.amount, self.cents, take))
        return _told(lot, -take, -product_cents(take, price_e4))

    def _came(self, movement: StockMovement, price_e4: int, valuation: str) -> int:
        """A find has no price of its own: under the moving average it is worth that, else the price of its lot."""
        if valuation == "average" and movement.kind == "count" and self.amount > 0 and self.cents > 0:
            return to_cents(Fraction(self.cents * movement.amount, self.amount * 100))
        return product_cents(movement.amount, price_e4)

    def _is_last(self, lot: str, take: int, kind: str, valuation: str) -> bool:
        """The last that leaves takes whatever value is left. Where everything went at its lot's price, a close-out's
        use stays at that price to the cent, and the rounding waits for a count."""
        if take != self.amount or self.cents < 0:
            return False
        return kind != "use" or valuation != "lot" or not self.valuations <= {"lot"}

    def _of_lot(self, lot: str, take: int, price_e4: int) -> int:
        amount, cents = self.layers.get(lot, [0, 0])
        return cents if amount == take and cents >= 0 else product_cents(take, price_e4)

    def _first_out(self, lot: str, take: int, price_e4: int) -> tuple[int, Told]:
        """What stock does not cover goes at the price of its own lot."""
        layers = self._open_layers()
        covered = min(take, sum(layer.amount for layer in layers))
        told: Told = []
        if covered:
            taken = fifo_take(layers, covered).taken
            told = [{"lot": part.lot, "amount": -part.amount, "cents": -part.cents} for part in taken]
        if take > covered:
            short = take - covered
            told.append({"lot": lot, "amount": -short, "cents": -product_cents(short, price_e4)})
        return sum(part["cents"] for part in told), told

    def _open_layers(self) -> list[Layer]:
        """By the receipts. Where another valuation came between, the value on hand is spread anew over the lots that
        are there, by what they cost."""
        kept = [Layer(lot, amount, cents) for lot, (amount, cents) in self.layers.items() if amount > 0 and cents >= 0]
        straight = "average" not in self.valuations and all(amount >= 0 for amount, _ in self.layers.values())
        if straight and sum(layer.amount for layer in kept) == self.amount:
            return kept
        there = [(lot, amount) for lot, amount in self.held.items() if amount > 0]
        weights = [amount * self.prices_e4[lot] for lot, amount in there]
        if self.cents < 0 or not any(weights):
            return []
        cents = split_cents(self.cents, weights)
        return [Layer(lot, amount, part) for (lot, amount), part in zip(there, cents, strict=True)]


def _told(lot: str, amount: int, cents: int) -> tuple[int, Told]:
    return cents, [{"lot": lot, "amount": amount, "cents": cents}]


def pools_of(products: set[int]) -> dict[PoolKey, Pool]:
    """The pools of some products as their values stand."""
    rows = StockValue.objects.filter(product_id__in=products).order_by("id").values_list(
        "product_id", "movement__lot__unit", "movement__lot__public_id", "movement__lot__price_e4",
        "amount", "value_cents", "layers", "valuation",
    )  # fmt: skip
    pools: dict[PoolKey, Pool] = {}
    for product, unit, lot, price_e4, amount, cents, told, valuation in rows.iterator():
        pools.setdefault((product, unit), Pool()).add(str(lot), price_e4, amount, cents, told, valuation)
    return pools
