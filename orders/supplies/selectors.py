"""Reads of stock and prices."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from orders.common.errors import NotFound
from orders.supplies.models import Equipment, Mix, Price, Product, ProductDocument, StockLot, StockMovement


def prices(on: date) -> dict[tuple[str, str], int]:
    """Price by (kind, code) on that day, in 1/10,000 dollars a unit: of each thing the newest that has begun.

    The codes of ("bag", "bag") and ("mileage", "mileage") are the kinds themselves. What has no price is absent.
    """
    begun = Price.objects.filter(from_day__lte=on).order_by("kind", "code", "from_day")
    return {(price.kind, price.code): price.price_e4 for price in begun}


def contract_minimums(on: date) -> dict[str, int]:
    """The least that a contractor asks for a job by method, in 1/10,000 dollars; where none is stated it is absent."""
    begun = Price.objects.filter(kind="contract", from_day__lte=on).order_by("code", "from_day")
    newest = {price.code: price.minimum_e4 for price in begun}
    return {code: minimum for code, minimum in newest.items() if minimum is not None}


class ProductPrice(NamedTuple):
    """What a liter of a product costs, in 1/10,000 dollars, and where the figure is from."""

    price_e4_per_l: int
    source: str


def product_prices(on: date) -> dict[str, ProductPrice]:
    """Price by product code: of what is on hand that day where its cost is known, else the price list's.

    On hand: `sum(held x price) / sum(held)` over the liquid lots that hold something and have a price, rounded half up.
    """
    listed = Price.objects.filter(kind="product", from_day__lte=on).order_by("code", "from_day")
    found = {
        price.code: ProductPrice(price.price_e4, f"price list from {price.from_day}: {price.source}")
        for price in listed
    }
    return found | {code: _on_hand_price(levels) for code, levels in _priced_lots(on).items()}


def product_names(codes: Iterable[str]) -> dict[str, str]:
    """Names of products by code; an unknown code is absent."""
    return dict(Product.objects.filter(code__in=list(codes)).order_by("pk").values_list("code", "name"))


def _priced_lots(on: date) -> dict[str, list[StockLot]]:
    held = Coalesce(Sum("movements__amount", filter=Q(movements__on__lte=on)), 0)
    rows = StockLot.objects.filter(unit="uL", price_e4__gt=0, received_on__lte=on).annotate(held=held)
    found: dict[str, list[StockLot]] = {}
    for lot in rows.filter(held__gt=0).select_related("product").order_by("received_on", "id"):
        found.setdefault(lot.product.code, []).append(lot)
    return found


def _on_hand_price(lots_held: list[StockLot]) -> ProductPrice:
    held = sum(lot.held for lot in lots_held)  # type: ignore[attr-defined]  # annotated above
    worth = sum(lot.held * lot.price_e4 for lot in lots_held)  # type: ignore[attr-defined]
    named = ", ".join(lot.lot_number for lot in lots_held)
    weighed = ", weighted by what each holds" if len(lots_held) > 1 else ""
    return ProductPrice((2 * worth + held) // (2 * held), f"stock on hand: lot {named}{weighed}")


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
    return Product.objects.prefetch_related("ingredients", "label_uses", "caps", "label_weather").order_by("code")


def product_get(product_id: UUID) -> Product:
    found = products().filter(public_id=product_id).first()
    if found is None:
        raise NotFound("There is no such product.")
    return found


def documents_all() -> QuerySet[ProductDocument]:
    """Those that a newer one replaced too, without the files themselves."""
    return ProductDocument.objects.select_related("product", "added_by").defer("file_bytes").order_by("-id")


def documents_standing() -> QuerySet[ProductDocument]:
    """The newest of each product, kind and language, without the files themselves."""
    newer = ProductDocument.objects.filter(
        product=OuterRef("product"), kind=OuterRef("kind"), language=OuterRef("language"), id__gt=OuterRef("id")
    )
    return documents_all().filter(~Exists(newer)).order_by("product__code", "kind", "language")


def document_get(document_id: UUID) -> ProductDocument:
    found = ProductDocument.objects.select_related("product", "added_by").filter(public_id=document_id).first()
    if found is None:
        raise NotFound("There is no such document.")
    return found


def document_by_hash(sha256: str) -> ProductDocument:
    found = ProductDocument.objects.filter(sha256=sha256).order_by("id").first()
    if found is None:
        raise NotFound("There is no such document.")
    return found


def mixes() -> QuerySet[Mix]:
    """With what goes into each."""
    return Mix.objects.prefetch_related("parts__product").order_by("code")


def mixes_holding(product: Product) -> QuerySet[Mix]:
    """Mixes in use that the product goes into."""
    return Mix.objects.filter(is_active=True, parts__product=product).distinct().order_by("name")


def products_out_of_use(keys: Iterable[int]) -> dict[int, str]:
    """Names by key of those products that are no longer in use."""
    gone = Product.objects.filter(pk__in=list(keys), is_active=False)
    return dict(gone.order_by("name").values_list("pk", "name"))


def mixes_out_of_use(asked: Iterable[Mix | None]) -> list[str]:
    """Names of those mixes that are no longer in use."""
    keys = [mix.pk for mix in asked if mix is not None]
    return list(Mix.objects.filter(pk__in=keys, is_active=False).order_by("name").values_list("name", flat=True))


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


def equipment() -> QuerySet[Equipment]:
    return Equipment.objects.order_by("code")


def equipment_by_code(code: str) -> Equipment:
    found = equipment().filter(code=code).first()
    if found is None:
        raise NotFound(f"There is no equipment {code}.")
    return found


def equipment_counts() -> dict[str, int]:
    """How many there are of each kind that crews share, by its code."""
    return dict(equipment().values_list("code", "count"))


def equipment_get(equipment_id: UUID) -> Equipment:
    found = equipment().prefetch_related("method_needs__method").filter(public_id=equipment_id).first()
    if found is None:
        raise NotFound("There is no such equipment.")
    return found


def mix_get(mix_id: UUID) -> Mix:
    found = mixes().filter(public_id=mix_id).first()
    if found is None:
        raise NotFound("There is no such mix.")
    return found


def mix_by_code(code: str) -> Mix:
    found = mixes().filter(code=code).first()
    if found is None:
        raise NotFound(f"There is no mix {code}.")
    return found


def products_named(codes: Iterable[str]) -> dict[str, Product]:
    """Products by code; an unknown code is absent."""
    return {product.code: product for product in Product.objects.filter(code__in=list(codes)).order_by("pk")}


def prices_listed() -> QuerySet[Price]:
    """Every price that was ever set, those of one thing together, the newest first."""
    return Price.objects.order_by("kind", "code", "-from_day")


def price_get(price_id: UUID) -> Price:
    found = prices_listed().filter(public_id=price_id).first()
    if found is None:
        raise NotFound("There is no such price.")
    return found
