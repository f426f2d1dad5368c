"""Purchase orders: drafted, approved (then their lines are committed), closed or void (then nothing of them is)."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Sum

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.numbers import number_next
from orders.common.rows import Findings, row_facts
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import Award, Bill, Commitment, Fund, PurchaseLine, PurchaseOrder, Vendor
from orders.costs.services.charging import ChargeLine, charge_refuse
from orders.costs.services.checks import Charge
from orders.costs.services.periods import posting_month_for
from orders.sites.models import Site
from orders.supplies.models import Product
from orders.supplies.selectors import products_out_of_use
from orders.workorders.models import WorkOrder

SERIES = "purchase order"
MOST_CENTS = 10**13


@dataclass(frozen=True)
class LineAsked:
    """One line as it is asked for. A line for an order is of the order's site."""

    category: str
    description: str
    amount_cents: int
    fund: Fund
    award: Award | None = None
    product: Product | None = None
    site: Site | None = None
    work_order: WorkOrder | None = None
    quantity: Decimal = Decimal(1)
    unit: str = "each"


@writing()
def purchase_draft(
    *,
    stamp: Stamp,
    vendor: Vendor,
    ordered_on: date,
    lines: Sequence[LineAsked],
    wanted_by: date | None = None,
    is_subaward: bool = False,
    note: str = "",
) -> PurchaseOrder:
    """Draft a purchase order; its number is the next of the series."""
    found = Findings()
    found.need(vendor.is_active, "vendor", f"Nothing more is bought from {vendor}.")
    found.need(bool(lines), "lines", "Name at least one line.")
    order = PurchaseOrder(
        number=0, vendor=vendor, ordered_on=ordered_on, wanted_by=wanted_by, is_subaward=is_subaward, note=note
    )
    rows = [_line(order, number, asked) for number, asked in enumerate(lines, start=1)]
    gone = products_out_of_use(row.product_id for row in rows if row.product_id is not None)
    for row in rows:
        line_check(found, row)
        if name := gone.get(row.product_id or 0):
            found.errors.append(FieldError("lines.product", f"Nothing more is bought of {name}.", row.number))
    found.row(order)
    found.refuse("The purchase order was not drafted.")
    order.number = number_next(SERIES)
    order.save(force_insert=True)
    for row in rows:
        row.order = order
    PurchaseLine.objects.bulk_create(rows)
    change_record(stamp=stamp, verb="purchase_draft", entity=order, after=row_facts(order))
    return order


def _line(order: PurchaseOrder, number: int, asked: LineAsked) -> PurchaseLine:
    return PurchaseLine(order=order, number=number, **vars(asked))


def line_check(found: Findings, row: Any) -> None:
    """What lines of purchase orders and bills share: an amount, and an award that its fund pays through."""
    number = row.number
    found.part(row, of="lines", number=number, parent="bill" if hasattr(row, "bill_id") else "order")
    if not 0 < row.amount_cents <= MOST_CENTS:
        found.errors.append(FieldError("lines.amount_cents", "must be more than 0", number))
    if row.award is not None and row.award.fund_id != row.fund_id:
        found.errors.append(FieldError("lines.award", f"{row.award.code} is not paid through {row.fund.code}", number))
    if row.category in {"labor", "premium", "indirect"}:
        found.errors.append(FieldError("lines.category", "is posted by pay and awards, not bought", number))
    if row.site is not None and row.work_order is not None and row.work_order.site_id != row.site_id:
        found.errors.append(FieldError("lines.site", f"is not the site of {row.work_order}", number))


@writing()
def purchase_approve(
    *, purchase: PurchaseOrder, posted_on: date, stamp: Stamp, expected: int | None = None
) -> PurchaseOrder:
    """Approve a draft: the awards are asked, and every line is committed."""
    _step(purchase, ("draft",), "approved", "purchase_approve", stamp, expected, by=stamp.by, at=stamp.at)
    lines = list(purchase.lines.select_related("fund", "award", "site", "work_order__site", "work_order__crew"))
    month = posting_month_for(posted_on)
    charge_refuse(ChargeLine(row.number, _charge(row, purchase.ordered_on, month)) for row in lines)
    Commitment.objects.bulk_create(
        commitment_of(row, row.amount_cents, key="", on=purchase.ordered_on, month=month, stamp=stamp) for row in lines
    )
    return purchase


def _charge(row: PurchaseLine, on: date, month: date) -> Charge:
    return Charge(row.fund, row.award, row.category, on, row.amount_cents, site_code=site_code_of(row), month=month)


def site_code_of(row: Any) -> str:
    """Of a line: its order's site, else its own."""
    site = row.work_order.site if row.work_order else row.site
    return site.code if site else ""


def commitment_of(row: PurchaseLine, cents: int, *, key: str, on: date, month: date, stamp: Stamp) -> Commitment:
    """What a line commits, or lets go of where `cents` is below zero; `key` says by what."""
    order = row.work_order
    return Commitment(
        posting_key=f"purchase:{row.public_id}{key}",
        purchase_line=row,
        category=row.category,
        amount_cents=cents,
        is_reversal=cents < 0,
        order=order,
        order_number=order.number if order else None,
        site_code=site_code_of(row),
        crew_name=order.crew.name if order else "",
        fund=row.fund,
        award=row.award,
        work_date=on,
        posting_month=month,
        posted_at=stamp.at,
        posted_by=stamp.by,
    )


def committed_cents(row: PurchaseLine) -> int:
    """What is still committed of a line."""
    return Commitment.objects.filter(purchase_line=row).aggregate(cents=Sum("amount_cents"))["cents"] or 0


@writing()
def purchase_close(
    *, purchase: PurchaseOrder, posted_on: date, stamp: Stamp, expected: int | None = None
) -> PurchaseOrder:
    """Nothing more comes: what no bill took down is let go of."""
    _step(purchase, ("approved",), "closed", "purchase_close", stamp, expected)
    _let_go(purchase.lines.all(), ":closed", posted_on, stamp)
    return purchase


@writing()
def purchase_void(
    *, purchase: PurchaseOrder, posted_on: date, stamp: Stamp, expected: int | None = None
) -> PurchaseOrder:
    """It was a mistake. While bills stand against it, it is closed instead."""
    if not stamp.reason.strip():
        raise Invalid("Say why it is void.", [FieldError("reason", "is required", code="required")])
    if Bill.objects.filter(purchase_order=purchase).exclude(state="void").exists():
        raise WrongState(f"There are bills for {purchase}: void them first, or close it.")
    _step(purchase, ("draft", "approved"), "void", "purchase_void", stamp, expected)
    _let_go(purchase.lines.all(), ":void", posted_on, stamp)
    return purchase


def _let_go(lines: Iterable[PurchaseLine], key: str, posted_on: date, stamp: Stamp) -> None:
    month = posting_month_for(posted_on)
    rows = []
    for row in lines:
        left = committed_cents(row)
        if left:
            rows.append(commitment_of(row, -left, key=key, on=row.order.ordered_on, month=month, stamp=stamp))
    Commitment.objects.bulk_create(rows)


def _step(
    row: PurchaseOrder,
    now_in: tuple[str, ...],
    state: str,
    verb: str,
    stamp: Stamp,
    expected: int | None,
    **approved: Any,
) -> None:
    was = PurchaseOrder.objects.get(pk=row.pk).state
    if was not in now_in:
        raise WrongState(f"{row} is {was}.")
    values = {f"approved_{name}": value for name, value in approved.items()}
    version_bump(row, expected=expected, state=state, **values)
    change_record(stamp=stamp, verb=verb, entity=row, before={"state": was}, after={"state": state})
