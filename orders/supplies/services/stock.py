"""Stock by lot: received, moved, counted."""

from datetime import date
from decimal import Decimal
from uuid import UUID

from orders.common.rows import Findings, row_add
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.supplies.amounts import ENTRY_UNITS, MICROLITERS, small_amount, small_unit
from orders.supplies.models import Product, StockLot, StockMovement
from orders.supplies.selectors import lot_amount

TAKES = {"use", "write_off"}
NEEDS_REASON = {"write_off", "count"}


@writing()
def lot_receive(
    *,
    stamp: Stamp,
    product: Product,
    lot_number: str,
    amount: Decimal,
    unit: str,
    price_e4: int,
    received_on: date,
) -> StockLot:
    """Take a lot into stock: the lot and its receipt. The price is for a liter, or for a kilogram of a dry product."""
    found = Findings()
    _amount_check(found, amount, unit)
    found.money(price_e4, "price_e4")
    lot = StockLot(
        product=product,
        lot_number=lot_number,
        unit=small_unit(unit) if unit in ENTRY_UNITS else MICROLITERS,
        price_e4=price_e4,
        received_on=received_on,
    )
    row_add(lot, stamp=stamp, verb="lot_receive", findings=found)
    stock_move(stamp=stamp, lot=lot, kind="receipt", amount=amount, unit=unit, on=received_on)
    return lot


@writing()
def stock_move(
    *,
    stamp: Stamp,
    lot: StockLot,
    kind: str,
    amount: Decimal,
    unit: str,
    on: date,
    source_kind: str = "",
    source_id: UUID | None = None,
    reason: str = "",
) -> StockMovement:
    """Move stock. Receipts and returns add, uses and write-offs take; for a count, `amount` is what was found there.

    The lot may go below zero: what was really used is recorded, and a count sets it right.
    """
    found = Findings()
    _amount_check(found, amount, unit, least_is_zero=kind == "count")
    same = unit not in ENTRY_UNITS or small_unit(unit) == lot.unit
    found.need(same, "unit", f"This lot is counted in {lot.get_unit_display()}.")
    found.need(kind not in NEEDS_REASON or bool(reason.strip()), "reason", "Say why.")
    signed = 0 if found.errors else _signed(lot, kind, small_amount(amount, unit))
    row = StockMovement(
        lot=lot,
        kind=kind,
        amount=signed,
        entered_value=amount,
        entered_unit=unit,
        on=on,
        at=stamp.at,
        by=stamp.by,
        source_kind=source_kind,
        source_id=source_id,
        reason=reason,
    )
    return row_add(row, stamp=stamp, verb="stock_move", findings=found)


def _amount_check(found: Findings, amount: Decimal, unit: str, least_is_zero: bool = False) -> None:
    found.need(unit in ENTRY_UNITS, "unit", f"Must be one of {', '.join(ENTRY_UNITS)}.")
    enough = amount.is_finite() and (amount >= 0 if least_is_zero else amount > 0)
    found.need(enough, "amount", "Must be 0 or more." if least_is_zero else "Must be more than 0.")


def _signed(lot: StockLot, kind: str, small: int) -> int:
    if kind == "count":
        return small - lot_amount(lot)
    return -small if kind in TAKES else small
