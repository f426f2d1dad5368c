"""Reads of what stock is worth."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import QuerySet, Sum

from estimating.pricing import split_cents
from orders.common.models import User
from orders.costs.models import StockPolicy, StockValue
from orders.costs.selectors import costs_open_to
from orders.supplies.models import Product, StockLot, StockMovement


def use_values(uses: Iterable[UUID]) -> dict[UUID, int]:
    """What material uses took from stock, by the use."""
    rows = StockValue.objects.filter(
        movement__source_kind="material_use", movement__kind="use", movement__source_id__in=list(uses)
    )
    named = rows.values_list("movement__source_id", "value_cents")
    return {source: -cents for source, cents in named if source is not None}


def stock_valuation(on: date) -> str:
    """How stock that leaves on a day is valued."""
    found = StockPolicy.objects.filter(from_day__lte=on).order_by("-from_day").first()
    return found.valuation if found else "lot"


@dataclass(frozen=True)
class LotOnHand:
    lot: StockLot
    amount: int
    value_cents: int


@dataclass(frozen=True)
class ProductOnHand:
    """A product in one unit. By lot the value is what the receipts left, or the product's value shared over what is on
    the shelf; the lots sum to the product."""

    product: Product
    unit: str
    amount: int
    value_cents: int
    lots: tuple[LotOnHand, ...]


@dataclass(frozen=True)
class StockOnHand:
    on: date
    valuation: str
    rows: tuple[ProductOnHand, ...]
    value_cents: int
    waiting: int  # movements up to the day without a value yet


def stock_on_hand(actor: User, on: date) -> StockOnHand:
    """What there was on a day and what it was worth, by product and lot."""
    costs_open_to(actor)
    rows = tuple(_products(on))
    waiting = StockMovement.objects.filter(value__isnull=True, on__lte=on).count()
    return StockOnHand(on, stock_valuation(on), rows, sum(row.value_cents for row in rows), waiting)


def _products(on: date) -> Iterator[ProductOnHand]:
    values = StockValue.objects.filter(movement__on__lte=on).values_list("movement__lot_id")
    totals = values.annotate(Sum("amount"), Sum("value_cents")).order_by()
    summed = {lot: (amount, cents) for lot, amount, cents in totals}
    pools: dict[tuple[int, str], list[StockLot]] = defaultdict(list)
    for lot in StockLot.objects.filter(pk__in=summed).select_related("product").order_by("product__code", "id"):
        pools[lot.product_id, lot.unit].append(lot)
    valuation = stock_valuation(on)
    for (_, unit), lots in pools.items():
        amounts = [summed[lot.pk][0] for lot in lots]
        whole, cents = sum(amounts), sum(summed[lot.pk][1] for lot in lots)
        parts = _lot_parts(lots, amounts, [summed[lot.pk][1] for lot in lots], valuation)
        listed = tuple(LotOnHand(*row) for row in zip(lots, amounts, parts, strict=True))
        yield ProductOnHand(lots[0].product, unit, whole, cents, listed)


def _lot_parts(lots: list[StockLot], amounts: list[int], by_lot: list[int], valuation: str) -> list[int]:
    """Where stock does not leave at the price of its own lot, the product's value is shared over what is there."""
    weights = [max(0, amount) * lot.price_e4 for lot, amount in zip(lots, amounts, strict=True)]
    if valuation == "lot" or sum(by_lot) < 0 or not any(weights):
        return by_lot
    return split_cents(sum(by_lot), weights)


def stock_values(actor: User) -> QuerySet[StockValue]:
    """Every movement with its value, the newest first."""
    costs_open_to(actor)
    return StockValue.objects.select_related("movement__lot__product", "movement__by", "product").order_by("-id")
