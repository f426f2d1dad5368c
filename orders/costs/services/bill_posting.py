"""What a bill posts. The receipt of a lot has put its price into stock and left it to pay, in the suspense fund; the
bill's line moves both to the fund that pays. Whatever it bills beyond that, and any other line, is a cost."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

from django.db.models import Q, Sum

from orders.common.errors import WrongState
from orders.common.stamp import Stamp
from orders.costs.models import Award, Bill, BillLine, Commitment, Fund, HeldCharge, LedgerEntry, StockValue
from orders.costs.selectors import fund_suspense
from orders.costs.services.charging import ChargeLine, charge_refuse, entries_post
from orders.costs.services.checks import Charge
from orders.costs.services.entries import WHOLE_E4, Cost, Payer, entries_make
from orders.costs.services.periods import posting_month_for
from orders.costs.services.purchases import commitment_of, committed_cents, site_code_of
from orders.costs.services.serving import order_served
from orders.costs.services.stock import stock_values_post
from orders.costs.services.taking_back import source_reverse

LINE, PAYMENT = "bill_line", "bill_payment"
Whose = tuple[int, int | None]  # fund and award


def lines_of(bill: Bill) -> list[BillLine]:
    related = "fund", "award", "site", "lot", "work_order__site", "work_order__crew", "purchase_line__order"
    return list(bill.lines.select_related(*related, "purchase_line__fund").order_by("number"))


def bill_lines_post(bill: Bill, *, posted_on: date, stamp: Stamp) -> None:
    """Its costs, what it says of stock, and what it takes off its purchase order."""
    stock_values_post(posted_on=posted_on, stamp=stamp)
    month = posting_month_for(posted_on)
    lines = lines_of(bill)
    stocked = _stocked(lines)
    asked = [ChargeLine(line.number, _charge(line, line.amount_cents - stocked[line.pk], month)) for line in lines]
    charge_refuse(line for line in asked if line.charge.cents)
    suspense = fund_suspense()
    rows: list[LedgerEntry] = []
    for line in lines:
        for cost, payer in _costs(line, stocked[line.pk], suspense):
            rows += entries_make(cost, [payer], revision=1, posted_on=posted_on, stamp=stamp)
    entries_post(rows, stamp=stamp)
    _commitments_relieve(lines, month, stamp)


def _stocked(lines: Sequence[BillLine]) -> dict[int, int]:
    """By line: how much of it pays for what stock holds already and no bill has named."""
    left: dict[int, int] = {}
    stocked = {}
    for line in lines:
        lot = line.lot_id
        if lot is not None and lot not in left:
            left[lot] = max(0, _unbilled(lot))
        stocked[line.pk] = min(line.amount_cents, left.get(lot or 0, 0))
        if lot is not None:
            left[lot] -= stocked[line.pk]
    return stocked


def _unbilled(lot: int) -> int:
    received = StockValue.objects.filter(movement__lot_id=lot, movement__kind="receipt")
    billed = BillLine.objects.filter(lot_id=lot, bill__state__in=["approved", "paid"])
    sources = billed.values_list("public_id", flat=True)
    named = LedgerEntry.objects.filter(source_kind=LINE, source_id__in=list(sources), credit="clear-stock")
    return _sum(received, "value_cents") - _sum(named, "amount_cents")


def _sum(rows: object, column: str) -> int:
    return int(rows.aggregate(cents=Sum(column))["cents"] or 0)  # type: ignore[attr-defined]  # a query set


def _charge(line: BillLine, cents: int, month: date) -> Charge:
    return Charge(
        line.fund, line.award, line.category, line.bill.worked_on, cents, site_code=site_code_of(line), month=month
    )


def _costs(line: BillLine, stocked: int, suspense: Fund) -> Iterable[tuple[Cost, Payer]]:
    """Of one line: stock out of suspense, stock into the fund that pays, and what is a cost now."""
    payer = Payer(line.fund, line.award, WHOLE_E4)
    if stocked:
        yield _cost(line, stocked, ("clear-payables", "clear-stock")), Payer(suspense, None, WHOLE_E4)
        yield _cost(line, stocked, ("clear-stock", "clear-payables")), payer
    if line.amount_cents > stocked:
        yield _cost(line, line.amount_cents - stocked, None), payer


def _cost(line: BillLine, cents: int, settles: tuple[str, str] | None, kind: str = LINE) -> Cost:
    debit, credit = settles or ("", "clear-payables")
    order = line.work_order
    return Cost(
        category=line.category,
        amount_cents=cents,
        quantity=1,
        unit="each",
        rate_e4=0,
        rate_origin="amount",
        source_kind=kind,
        source_id=line.public_id,
        work_date=line.bill.worked_on,
        order=order,
        served=[] if settles else order_served(order),
        site_code=site_code_of(line),
        book="clearing" if settles else "cost",
        debit=debit,
        credit=credit,
    )


def _commitments_relieve(lines: Iterable[BillLine], month: date, stamp: Stamp) -> None:
    """A line of a purchase order is taken down by what is billed, never below nothing."""
    for line in lines:
        bought = line.purchase_line
        relief = min(line.amount_cents, committed_cents(bought)) if bought else 0
        if bought and relief > 0:
            key = f":bill:{line.public_id}"
            commitment_of(bought, -relief, key=key, on=line.bill.worked_on, month=month, stamp=stamp).save()


def bill_payments_post(bill: Bill, *, posted_on: date, stamp: Stamp) -> None:
    """Out of the funds that the lines stand in now: what waits for finance is settled first."""
    lines = lines_of(bill)
    ids = [line.public_id for line in lines]
    if HeldCharge.objects.filter(source_kind=LINE, source_id__in=ids, state="waiting").exists():
        raise WrongState(f"Part of {bill} waits for finance to say who pays it; settle that first.")
    rows: list[LedgerEntry] = []
    for line in lines:
        for (fund, award), cents in _owed(line).items():
            payer = Payer(Fund.objects.get(pk=fund), Award.objects.get(pk=award) if award else None, WHOLE_E4)
            cost = _cost(line, cents, ("clear-payables", "fund"), PAYMENT)
            rows += entries_make(cost, [payer], revision=1, posted_on=posted_on, stamp=stamp)
    entries_post(rows, stamp=stamp)


def _owed(line: BillLine) -> dict[Whose, int]:
    """What the line left to pay, by who pays it now. Both halves of a lot's move name the suspense fund where nobody
    else pays for it."""
    owed: dict[Whose, int] = defaultdict(int)
    named = Q(credit="clear-payables")
    for row in LedgerEntry.objects.filter(named, source_kind=LINE, source_id=line.public_id):
        owed[row.fund_id, row.award_id] += row.amount_cents
    return {whose: cents for whose, cents in owed.items() if cents}


def bill_take_back(bill: Bill, lines: Sequence[BillLine], *, posted_on: date, stamp: Stamp) -> None:
    """Reverse its costs and payments; an open purchase order is committed again to what it had taken down."""
    ids = [line.public_id for line in lines]
    for kind in (PAYMENT, LINE):
        source_reverse(kind, ids, posted_on=posted_on, stamp=stamp)
    month = posting_month_for(posted_on)
    for line in lines:
        bought = line.purchase_line
        if bought is None or bought.order.state != "approved":
            continue
        key = f":bill:{line.public_id}"
        taken = Commitment.objects.filter(posting_key=f"purchase:{bought.public_id}{key}").first()
        if taken is not None:
            again = f"{key}:void"
            commitment_of(bought, -taken.amount_cents, key=again, on=bill.worked_on, month=month, stamp=stamp).save()
