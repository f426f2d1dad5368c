"""The value of stock, posted as it moves. Movements are valued one after another in the order of their numbers, each
once: whoever moves stock calls `stock_values_post` after it, which also values what was left before.

Stock on hand stands in the suspense fund until a bill says who paid for it; what leaves is a cost of whoever uses it.
"""

from collections.abc import Iterable
from datetime import date
from uuid import UUID

from django.db.models import Q, Sum

from estimating.pricing import product_cents
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import Fund, LedgerEntry, StockPolicy, StockValue
from orders.costs.services.charging import entries_post, payers_by_rule
from orders.costs.services.entries import WHOLE_E4, Cost, Payer, entries_make
from orders.costs.services.taking_back import source_reverse
from orders.costs.stock_pools import Pool, PoolKey, Told, pools_of
from orders.supplies.models import StockMovement

SOURCE = "stock_value"
USE_SOURCE = "material_use"  # a close-out posts these itself
USUAL = "lot"
STOCK_CODE = "stock"  # what a funding rule calls losses and finds


@writing()
def stock_values_post(*, posted_on: date, stamp: Stamp) -> list[StockValue]:
    """Value and post every movement that has no value yet. Without a suspense fund nothing can be posted: they wait."""
    suspense = Fund.objects.filter(is_suspense=True).first()
    waiting = list(StockMovement.objects.filter(value__isnull=True).select_related("lot__product").order_by("id"))
    if suspense is None or not waiting:
        return []
    pools = pools_of({movement.lot.product_id for movement in waiting})
    posted = _posted_before(waiting)
    policies = list(StockPolicy.objects.order_by("-from_day").values_list("from_day", "valuation"))
    made = []
    for movement in waiting:
        valuation = next((told for day, told in policies if day <= movement.on), USUAL)
        value = _valued(movement, valuation, pools, posted)
        made.append(value)
        _post(value, suspense, posted_on=posted_on, stamp=stamp)
    return made


def _posted_before(waiting: Iterable[StockMovement]) -> dict[UUID, int]:
    """What close-outs had posted for uses before stock was valued: that is their value."""
    uses = [one.source_id for one in waiting if one.source_id and one.kind == "use" and one.source_kind == USE_SOURCE]
    rows = LedgerEntry.objects.filter(source_kind=USE_SOURCE, source_id__in=uses, reverses__isnull=True, book="cost")
    return dict(rows.values_list("source_id").annotate(cents=Sum("amount_cents")).order_by())


def _valued(movement: StockMovement, valuation: str, pools: dict[PoolKey, Pool], posted: dict[UUID, int]) -> StockValue:
    lot = movement.lot
    pool = pools.setdefault((lot.product_id, lot.unit), Pool())
    cents, told = _value_of(movement, valuation, pool, posted)
    value = StockValue.objects.create(
        movement=movement,
        product=lot.product,
        amount=movement.amount,
        value_cents=cents,
        valuation=valuation,
        layers=told,
    )
    pool.add(str(lot.public_id), lot.price_e4, movement.amount, cents, told, valuation)
    return value


def _value_of(movement: StockMovement, valuation: str, pool: Pool, posted: dict[UUID, int]) -> tuple[int, Told]:
    lot = str(movement.lot.public_id)
    taken = _taken_by(movement)
    if taken is not None:
        back = [{**part, "amount": -part["amount"], "cents": -part["cents"]} for part in taken.layers]
        return -taken.value_cents, back
    if movement.kind == "use" and movement.source_id in posted:
        cents = -posted[movement.source_id]
        return cents, [{"lot": lot, "amount": movement.amount, "cents": cents}]
    return pool.valued(movement, valuation)


def _taken_by(movement: StockMovement) -> StockValue | None:
    """What a return gives back: exactly what its own use or write-off took."""
    if movement.kind != "return" or movement.source_id is None:
        return None
    own = StockValue.objects.filter(
        movement__source_kind=movement.source_kind,
        movement__source_id=movement.source_id,
        movement__kind__in=["use", "write_off"],
    )
    found = own.first()
    return found if found is not None and found.amount == -movement.amount else None


def _post(value: StockValue, suspense: Fund, *, posted_on: date, stamp: Stamp) -> None:
    movement = value.movement
    if movement.source_kind == USE_SOURCE or not value.value_cents:
        return
    taken = _taken_by(movement)
    if taken is not None:
        source_reverse(SOURCE, [taken.public_id], posted_on=posted_on, stamp=stamp)
        return
    is_receipt = movement.kind == "receipt"
    at_price = product_cents(abs(value.amount), movement.lot.price_e4)
    cost = Cost(
        category="material",
        amount_cents=value.value_cents if is_receipt else -value.value_cents,
        quantity=value.amount if is_receipt else -value.amount,
        unit=movement.lot.unit,
        rate_e4=movement.lot.price_e4,
        rate_origin="price" if abs(value.value_cents) == at_price else "amount",
        source_kind=SOURCE,
        source_id=value.public_id,
        work_date=movement.on,
        book="clearing" if is_receipt else "cost",
        debit="clear-stock" if is_receipt else "",
        credit="clear-payables" if is_receipt else "",
    )
    payers = [Payer(suspense, None, WHOLE_E4)] if is_receipt else payers_by_rule(on=movement.on, work_code=STOCK_CODE)
    rows = entries_make(
        cost, payers, revision=1, posted_on=posted_on, reason=stamp.reason or movement.reason, stamp=stamp
    )
    entries_post(rows, stamp=stamp)


def stock_proof() -> list[str]:
    """What is wrong with the account of stock: empty where its balance is the value of what is on hand."""
    waiting = StockMovement.objects.filter(value__isnull=True).count()
    if waiting:
        return [f"{waiting} stock movements have no value yet."]
    whole = LedgerEntry.objects.aggregate(
        came=Sum("amount_cents", filter=Q(debit="clear-stock")),
        went=Sum("amount_cents", filter=Q(credit="clear-stock")),
    )
    balance = (whole["came"] or 0) - (whole["went"] or 0)
    worth = StockValue.objects.aggregate(cents=Sum("value_cents"))["cents"] or 0
    if balance == worth:
        return []
    return [f"The account of stock holds {balance} cents, what is on hand is worth {worth} cents."]
