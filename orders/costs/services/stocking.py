"""Stock that moves by the desk and by the end of a mix, with what it is worth, in one transaction."""

from datetime import date
from decimal import Decimal

from django.conf import settings

from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.services.stock import stock_values_post
from orders.supplies.models import Product, StockLot, StockMovement
from orders.supplies.services import lot_receive, stock_move
from orders.workorders.mixing import mix_day_end_add
from orders.workorders.models import MixDayEnd


@writing()
def stock_move_posted(
    *,
    lot: StockLot,
    kind: str,
    amount: Decimal,
    unit: str,
    on: date,
    posted_on: date,
    reason: str = "",
    stamp: Stamp,
) -> StockMovement:
    """Receive, count or write off, with what it is worth."""
    moved = stock_move(lot=lot, kind=kind, amount=amount, unit=unit, on=on, reason=reason, stamp=stamp)
    stock_values_post(posted_on=posted_on, stamp=stamp)
    return moved


@writing()
def lot_receive_posted(
    *,
    product: Product,
    lot_number: str,
    amount: Decimal,
    unit: str,
    price_e4: int,
    received_on: date,
    posted_on: date,
    stamp: Stamp,
) -> StockLot:
    """Take a new lot into stock at its price: it is to be paid until a bill says who pays."""
    lot = lot_receive(
        product=product,
        lot_number=lot_number,
        amount=amount,
        unit=unit,
        price_e4=price_e4,
        received_on=received_on,
        stamp=stamp,
    )
    stock_values_post(posted_on=posted_on, stamp=stamp)
    return lot


@writing()
def mix_day_end_posted(*, day_end: MixDayEnd, stamp: Stamp) -> MixDayEnd:
    """What was left of a mix; what was thrown away leaves stock, and is a cost."""
    kept = mix_day_end_add(day_end=day_end, stamp=stamp)
    stock_values_post(posted_on=stamp.local_date(settings.PROGRAM_TIME_ZONE), stamp=stamp)
    return kept
