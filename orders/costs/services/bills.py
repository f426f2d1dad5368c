"""Bills of contractors and suppliers: added, approved (then they are costs), paid, or void (then all is taken back)."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.rows import Findings, row_facts
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import Award, Bill, BillLine, Fund, PurchaseLine, PurchaseOrder, Vendor
from orders.costs.services.bill_posting import bill_lines_post, bill_payments_post, bill_take_back, lines_of
from orders.costs.services.purchases import line_check
from orders.sites.models import Site
from orders.supplies.models import StockLot
from orders.workorders.models import WorkOrder


@dataclass(frozen=True)
class LineBilled:
    """One line as the vendor bills it. A line for a lot pays for stock; any other is a cost at once."""

    category: str
    description: str
    amount_cents: int
    fund: Fund
    award: Award | None = None
    purchase_line: PurchaseLine | None = None
    lot: StockLot | None = None
    site: Site | None = None
    work_order: WorkOrder | None = None


@writing()
def bill_add(
    *,
    stamp: Stamp,
    vendor: Vendor,
    number: str,
    billed_on: date,
    worked_on: date,
    total_cents: int,
    lines: Sequence[LineBilled],
    purchase_order: PurchaseOrder | None = None,
    due_on: date | None = None,
    note: str = "",
) -> Bill:
    """Add a bill with its lines, which sum to its total. A vendor's number stands once."""
    bill = Bill(
        vendor=vendor,
        number=number.strip(),
        purchase_order=purchase_order,
        billed_on=billed_on,
        due_on=due_on,
        worked_on=worked_on,
        total_cents=total_cents,
        note=note,
    )
    rows = [BillLine(bill=bill, number=place, **vars(line)) for place, line in enumerate(lines, start=1)]
    found = Findings()
    _bill_check(found, bill, rows)
    for row in rows:
        line_check(found, row)
        _billed_check(found, bill, row)
    found.row(bill)
    found.refuse("The bill was not added.")
    bill.save(force_insert=True)
    for row in rows:
        row.bill = bill
    BillLine.objects.bulk_create(rows)
    change_record(stamp=stamp, verb="bill_add", entity=bill, after=row_facts(bill, {"total_cents"}))
    return bill


def _bill_check(found: Findings, bill: Bill, rows: list[BillLine]) -> None:
    summed = sum(row.amount_cents for row in rows)
    found.need(bool(rows), "lines", "Name at least one line.")
    found.need(
        summed == bill.total_cents,
        "total_cents",
        f"The lines sum to ${summed / 100:,.2f}, the bill says ${bill.total_cents / 100:,.2f}.",
    )
    double = Bill.objects.filter(vendor=bill.vendor, number=bill.number).exclude(state="void").exists()
    found.need(not double, "number", f"Bill {bill.number} of {bill.vendor} is here already.")
    order = bill.purchase_order
    if order is not None:
        found.need(order.vendor_id == bill.vendor_id, "purchase_order", f"{order} is to {order.vendor}.")
        found.need(order.state == "approved", "purchase_order", f"{order} is {order.state}.")


def _billed_check(found: Findings, bill: Bill, row: BillLine) -> None:
    line = row.purchase_line
    if line is not None and line.order_id != bill.purchase_order_id:
        found.errors.append(FieldError("lines.purchase_line", "is not of the bill's purchase order", row.number))
    if row.lot is not None and row.category != "material":
        found.errors.append(FieldError("lines.category", "of a lot is material", row.number))


@writing()
def bill_approve(*, bill: Bill, posted_on: date, stamp: Stamp, expected: int | None = None) -> Bill:
    """Approve it: awards are asked, its costs are posted, and its purchase order is taken down by as much."""
    _step(bill, ("draft",), "approved", "bill_approve", stamp, expected, approved_by=stamp.by, approved_at=stamp.at)
    bill_lines_post(bill, posted_on=posted_on, stamp=stamp)
    return bill


@writing()
def bill_pay(*, bill: Bill, paid_on: date, posted_on: date, stamp: Stamp, expected: int | None = None) -> Bill:
    """The money went out, from the funds that its lines are charged to."""
    _step(bill, ("approved",), "paid", "bill_pay", stamp, expected, paid_on=paid_on)
    bill_payments_post(bill, posted_on=posted_on, stamp=stamp)
    return bill


@writing()
def bill_void(*, bill: Bill, posted_on: date, stamp: Stamp, expected: int | None = None) -> Bill:
    """Take back all that it posted; then it may be entered anew."""
    if not stamp.reason.strip():
        raise Invalid("Say why the bill is void.", [FieldError("reason", "is required", code="required")])
    _step(bill, ("draft", "approved", "paid"), "void", "bill_void", stamp, expected)
    bill_take_back(bill, lines_of(bill), posted_on=posted_on, stamp=stamp)
    return bill


def _step(
    row: Bill, now_in: tuple[str, ...], state: str, verb: str, stamp: Stamp, expected: int | None, **values: Any
) -> None:
    was = Bill.objects.get(pk=row.pk).state
    if was not in now_in:
        raise WrongState(f"{row} is {was}.")
    version_bump(row, expected=expected, state=state, **values)
    change_record(stamp=stamp, verb=verb, entity=row, before={"state": was}, after={"state": state})
