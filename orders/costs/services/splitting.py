"""Splitting an order anew over funds after it was issued: what was posted and committed is taken back and stands again
with the new payers, in the open period."""

from collections.abc import Iterable, Sequence
from datetime import date

from estimating.pricing import split_cents
from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import Commitment, LedgerEntry, OrderFunding
from orders.costs.selectors import commitments_standing, order_funding, reversal_key
from orders.costs.services.charging import entries_post
from orders.costs.services.entries import Payer, entries_reverse
from orders.costs.services.moved import rows_split_anew
from orders.costs.services.posting import commitments_reverse, copied, funding_check
from orders.workorders.models import WorkOrder

# these name their payer themselves, whatever the order's split says
OWN_PAYER = ("bill_line", "bill_payment", "payroll", "indirect")
STATES = ("issued", "underway", "closed")


@writing()
def order_split_again(
    *, order: WorkOrder, shares: Iterable[Payer], posted_on: date, expected: int | None = None, stamp: Stamp
) -> list[OrderFunding]:
    """Finance says anew who pays an order; the reason is kept with each row that moves."""
    wanted = list(shares)
    if order.state not in STATES:
        raise WrongState(f"{order} is {order.state}: nothing of it was posted or committed.")
    if not stamp.reason.strip():
        raise Invalid("Say why the order is split anew.", [FieldError("reason", "is empty", code="required")])
    funding_check(wanted)
    before = _told(order_funding(order))
    version_bump(order, expected=expected)
    order.funding.all().delete()
    funding = [
        OrderFunding.objects.create(order=order, fund=share.fund, award=share.award, share_e4=share.share_e4)
        for share in wanted
    ]
    _ledger_move(order, wanted, posted_on, stamp)
    _commitments_move(order, wanted, stamp)
    after = {"shares": _told(funding)}
    change_record(stamp=stamp, verb="order_split_again", entity=order, before={"shares": before}, after=after)
    return funding


def _told(funding: Iterable[OrderFunding]) -> list[list[str | int]]:
    return [[row.fund.code, row.award.code if row.award else "", row.share_e4] for row in funding]


def _ledger_move(order: WorkOrder, payers: Sequence[Payer], posted_on: date, stamp: Stamp) -> None:
    rows = LedgerEntry.objects.filter(order=order, reverses__isnull=True, reversed_by__isnull=True)
    rows = rows.filter(book__in=["cost", "match"])
    standing = list(rows.exclude(source_kind__in=OWN_PAYER).order_by("id"))
    entries_reverse(standing, posted_on=posted_on, stamp=stamp)
    entries_post(rows_split_anew(standing, payers, posted_on=posted_on, stamp=stamp), stamp=stamp, again=True)


def _commitments_move(order: WorkOrder, payers: Sequence[Payer], stamp: Stamp) -> None:
    standing = [row for row in commitments_standing(order) if row.purchase_line_id is None]
    joined: dict[tuple[object, ...], list[Commitment]] = {}
    for row in standing:
        joined.setdefault((row.visit_id, row.prescription_id, row.category), []).append(row)
    commitments_reverse(order=order, stamp=stamp)
    taken_back = set(Commitment.objects.filter(order=order, is_reversal=True).values_list("posting_key", flat=True))
    made = [row for parts in joined.values() for row in _commitments_split(parts, payers, stamp)]
    for row in made:
        while reversal_key(row.posting_key) in taken_back:
            row.posting_key = f"{row.posting_key}:again"
    Commitment.objects.bulk_create(made)


def _commitments_split(parts: Sequence[Commitment], payers: Sequence[Payer], stamp: Stamp) -> Iterable[Commitment]:
    weights = [payer.share_e4 for payer in payers]
    cents = split_cents(sum(part.amount_cents for part in parts), weights)
    minutes = split_cents(sum(part.minutes for part in parts), weights)
    plan, share, category = parts[0].posting_key.split(":")[:3]
    for payer, amount, worked in zip(payers, cents, minutes, strict=True):
        award = payer.award.pk if payer.award else None
        facts = copied(parts[0], posting_key=f"{plan}:{share}:{category}:{payer.fund.pk}:{award or ''}", stamp=stamp)
        yield Commitment(**{**facts, "fund_id": payer.fund.pk, "award_id": award}, amount_cents=amount, minutes=worked)
