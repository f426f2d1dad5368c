"""Reads of stock and prices."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import QuerySet, Sum
from django.db.models.functions import Coalesce

from orders.common.errors import NotFound
from orders.supplies.models import Price, Product, StockLot, StockMovement


def prices(on: date) -> dict[tuple[str, str], int]:
    """Price by (kind, code) on that day, in 1/10,000 dollars a unit: of each thing the newest that has begun.

    The codes of ("bag", "bag") and ("mileage", "mileage") are the kinds themselves. What has no price is absent.
    """
    begun = Price.objects.filter(from_day__lte=on).order_by("kind", "code", "from_day")
    return {(price.kind, price.code): price.price_e4 for price in begun}


def lot_amount(lot: StockLot) -> int:
    """What the lot holds, in its unit: the sum of its movements; below zero where more was used than was there."""
    total = StockMovement.objects.filter(lot=lot).aggregate(total=Sum("amount"))["total"]
    return int(total or 0)


@dataclass(frozen=True, kw_only=True)
class StockLevel:
    """What there is of one lot, in microliters or milligrams as `unit` says."""

    product: Product
    lot: StockLot
    amount: int
    unit: str


def stock_levels() -> list[StockLevel]:
    """All lots with what they hold, oldest first within a product."""
    lots = (
        StockLot.objects.select_related("product")
        .annotate(total=Sum("movements__amount"))
        .order_by("product__code", "received_on", "id")
    )
    return [StockLevel(product=lot.product, lot=lot, amount=int(lot.total or 0), unit=lot.unit) for lot in lots]


def products() -> QuerySet[Product]:
    return Product.objects.prefetch_related("ingredients", "caps").order_by("code")


def product_get(product_id: UUID) -> Product:
    found = products().filter(public_id=product_id).first()
    if found is None:
        raise NotFound("There is no such product.")
    return found


def lots() -> QuerySet[StockLot]:
    """With what each holds as `held`, in its unit."""
    held = Coalesce(Sum("movements__amount"), 0)
    return StockLot.objects.select_related("product").annotate(held=held).order_by("id")


@dataclass(frozen=True, kw_only=True)
class StockHeld:
    """What there is of a product over all its lots that are counted in one unit."""

    product: Product
    unit: str
    held: int
    lots: int


def stock_by_product() -> list[StockHeld]:
    found: dict[tuple[int, str], list[StockLevel]] = {}
    for level in stock_levels():
        found.setdefault((level.product.pk, level.unit), []).append(level)
    return [
        StockHeld(product=levels[0].product, unit=unit, held=sum(level.amount for level in levels), lots=len(levels))
        for (_, unit), levels in found.items()
    ]


def lot_get(lot_id: UUID) -> StockLot:
    found = StockLot.objects.select_related("product").filter(public_id=lot_id).first()
    if found is None:
        raise NotFound("There is no such lot.")
    return found


def stock_movements() -> QuerySet[StockMovement]:
    return StockMovement.objects.select_related("lot__product", "by").order_by("-id")
