"""Mixes as they were made, and what was left of them at the end of a day. What is thrown away leaves stock."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from uuid import UUID, uuid5

from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.rows import Findings
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.supplies.amounts import small_amount, small_unit
from orders.supplies.models import StockLot
from orders.supplies.services import stock_move
from orders.workorders.facts import fact_known, fact_save
from orders.workorders.models import BatchPart, MixBatch, MixDayEnd

SOURCE = "mix_day_end"
FOURTH = Decimal("0.0001")


@writing()
def mix_batch_add(*, batch: MixBatch, parts: Sequence[BatchPart], stamp: Stamp) -> MixBatch:
    """`parts` say what was typed; their amounts are worked out here."""
    if known := fact_known(batch):
        return known
    found = Findings()
    for number, part in enumerate(parts, start=1):
        found.errors.extend(_part_faults(part, number))
    found.refuse("The mix cannot be read.")
    fact_save(batch, stamp=stamp)
    for part in parts:
        part.batch = batch
        part.amount = small_amount(part.entered_value, part.entered_unit)
    BatchPart.objects.bulk_create(parts)
    return batch


def _part_faults(part: BatchPart, number: int) -> Iterator[FieldError]:
    if part.entered_value <= 0 or small_amount(part.entered_value, part.entered_unit) == 0:
        yield FieldError("parts.value", "must be above 0", number)
    if part.lot is None:
        return
    if part.lot.product_id != part.product_id:
        yield FieldError("parts.lot", f"is not of {part.product}", number)
    elif small_unit(part.entered_unit) != part.lot.unit:
        yield FieldError("parts.unit", f"{part.entered_unit} does not measure {part.product}", number)


@writing()
def mix_day_end_add(*, day_end: MixDayEnd, stamp: Stamp) -> MixDayEnd:
    """A correction replaces the one that it names, and brings back what that one had thrown away."""
    if known := fact_known(day_end):
        return known
    struck = day_end.replaces
    if struck is not None:
        _correction_check(day_end, struck)
        _disposed_move(struck, "return", stamp.because("The end of the day was corrected."))
    fact_save(day_end, stamp=stamp)
    _disposed_move(day_end, "write_off", stamp.because(day_end.how_disposed or "Left over of a mix."))
    return day_end


def _correction_check(day_end: MixDayEnd, struck: MixDayEnd) -> None:
    if day_end.batch_id != struck.batch_id:
        raise Invalid("A correction is of the same mix.", [FieldError("replaces", "is of another mix")])
    if MixDayEnd.objects.filter(replaces=struck).exists():
        raise WrongState(f"{struck} was corrected already.")


def _disposed_move(day_end: MixDayEnd, kind: str, stamp: Stamp) -> None:
    """What was applied leaves stock with the close-outs; this is the rest, by lot, once."""
    for lot, amount, unit in _disposed_by_lot(day_end):
        stock_move(
            lot=lot,
            kind=kind,
            amount=amount,
            unit=unit,
            on=day_end.work_date,
            source_kind=SOURCE,
            source_id=_source_id(day_end, lot),
            reason=stamp.reason[:200],
            stamp=stamp,
        )


def _source_id(day_end: MixDayEnd, lot: StockLot) -> UUID:
    """A day end takes from several lots, and from each once."""
    return uuid5(day_end.public_id, str(lot.public_id))


def _disposed_by_lot(day_end: MixDayEnd) -> Iterator[tuple[StockLot, Decimal, str]]:
    batch = day_end.batch
    share = Decimal(min(day_end.disposed_ul, batch.volume_ul)) / batch.volume_ul
    small: dict[StockLot, int] = {}
    for part in batch.parts.filter(lot__isnull=False).select_related("lot__product"):
        if part.lot is not None:
            small[part.lot] = small.get(part.lot, 0) + part.amount
    for lot, amount in small.items():
        # milliliters and grams: a thousand of the small unit
        thrown = (Decimal(amount) * share / 1000).quantize(FOURTH)
        if thrown > 0:
            yield lot, thrown, "mL" if lot.unit == "uL" else "g"
