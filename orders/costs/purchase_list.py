"""What a season still needs to buy."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from estimating.pricing import product_cents
from estimating.shopping import Container, containers_to_buy
from orders.common.models import User
from orders.costs.selectors import costs_open_to
from orders.planning.models import Season
from orders.reminders.convert.stock import planned_takes
from orders.supplies.models import Product
from orders.supplies.selectors import prices, stock_by_product

UL_PER_ML = 1000
SIZES_ML = (946, 9_464)  # a quart and 2.5 gallons, as products are usually sold (common practice); others may be named


@dataclass(frozen=True)
class Containers:
    volume_ml: int
    count: int


@dataclass(frozen=True)
class Buy:
    """One product; where it has no price, nothing says what it costs."""

    product: Product
    need_ml: int
    stock_ml: int
    containers: tuple[Containers, ...]
    spare_ml: int
    price_e4: int | None
    cost_cents: int | None
    supplier: str = ""


@dataclass(frozen=True)
class PurchaseList:
    season: Season
    on: date
    rows: tuple[Buy, ...]
    cost_cents: int
    without_price: int


def purchase_list(actor: User, season: Season, on: date, sizes_ml: Sequence[int] = SIZES_ML) -> PurchaseList:
    """Of what open orders and prescriptions of the season still take, what stock does not cover, in whole containers at
    least cost by the liter's price of the day."""
    costs_open_to(actor)
    takes = {code: sum(days.values()) for code, days in planned_takes(on, season).items()}
    held = {row.product.pk: row.held for row in stock_by_product() if row.unit == "uL"}
    price_of = prices(on)
    products = Product.objects.filter(code__in=[code for code, amount in takes.items() if amount > 0]).order_by("code")
    rows = tuple(
        _buy(one, takes[one.code], held.get(one.pk, 0), price_of.get(("product", one.code)), sizes_ml)
        for one in products
    )
    cost = sum(row.cost_cents or 0 for row in rows)
    return PurchaseList(season, on, rows, cost, sum(row.price_e4 is None for row in rows))


def _buy(product: Product, need_ul: float, held_ul: int, price_e4: int | None, sizes_ml: Sequence[int]) -> Buy:
    need_ml, stock_ml = math.ceil(need_ul / UL_PER_ML), max(0, held_ul // UL_PER_ML)
    sold = [Container(size, product_cents(size * UL_PER_ML, price_e4 or 0)) for size in sizes_ml]
    bought = containers_to_buy(need_ml, stock_ml, sold)
    return Buy(
        product=product,
        need_ml=need_ml,
        stock_ml=stock_ml,
        containers=tuple(Containers(one.volume_ml, count) for one, count in bought.counts),
        spare_ml=bought.spare_ml,
        price_e4=price_e4,
        cost_cents=None if price_e4 is None else bought.cost_cents,
    )
