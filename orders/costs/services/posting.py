"""Posting: what an issued order is planned to cost, and what a close-out cost. Rows are only ever added."""

from collections.abc import Iterable
from datetime import date
from fractions import Fraction
from typing import Any

from estimating.pricing import split_cents, to_cents
from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import Commitment, LedgerEntry, OrderFunding
from orders.costs.selectors import commitments_standing, fund_suspense, ledger_standing, order_funding, reversal_key
from orders.costs.services.charging import entries_post, payers_of, rule_payers
from orders.costs.services.entries import WHOLE_E4, Payer, entries_make, entries_reverse
from orders.costs.services.sources import costs_of_close_out
from orders.planning.models import Prescription, VisitShare
from orders.workorders.models import CloseOut, WorkOrder
from orders.workorders.selectors import order_shares


@writing()
def order_fund(
    *, order: WorkOrder, shares: Iterable[Payer], stamp: Stamp, expected: int | None = None
) -> list[OrderFunding]:
    """Say who pays an order, before it is issued; the shares sum to the whole. `expected` is the version read."""
    wanted = list(shares)
    if order.state != "draft":
        raise WrongState(f"{order} is {order.state}; its funding was fixed when it was issued.")
    funding_check(wanted)
    version_bump(order, expected=expected)
    order.funding.all().delete()
    rows = [
        OrderFunding.objects.create(order=order, fund=share.fund, award=share.award, share_e4=share.share_e4)
        for share in wanted
    ]
    after = {"shares": [[share.fund.code, share.share_e4] for share in wanted]}
    change_record(stamp=stamp, verb="order_fund", entity=order, after=after)
    return rows


def order_shares_by_rule(order: WorkOrder) -> list[Payer]:
    """The funding that a rule says for the order's site, and its method where it has but one. Empty where none fits."""
    methods = {share.prescription.method.code for share in order_shares(order)}
    method_code = methods.pop() if len(methods) == 1 else ""
    return rule_payers(on=order.first_day, site=order.site, method_code=method_code)


@writing()
def order_fund_by_rule(*, order: WorkOrder, stamp: Stamp, expected: int | None = None) -> list[OrderFunding]:
    """Fund a draft by the rule that fits its site and method."""
    shares = order_shares_by_rule(order)
    if not shares:
        raise Invalid("No funding rule fits this order.", [FieldError("shares", "no rule names any", code="required")])
    return order_fund(order=order, shares=shares, stamp=stamp, expected=expected)


def funding_check(shares: list[Payer]) -> None:
    errors = [
        FieldError("shares.award", f"{share.award.code} is not paid through {share.fund.code}", row)
        for row, share in enumerate(shares, start=1)
        if share.award and share.award.fund_id != share.fund.pk
    ]
    if sum(share.share_e4 for share in shares) != WHOLE_E4:
        errors.append(FieldError("shares", "must add up to 100%", code="sum"))
    if len({(share.fund.pk, share.award and share.award.pk) for share in shares}) < len(shares):
        errors.append(FieldError("shares", "name a fund twice", code="duplicate"))
    if errors:
        raise Invalid("The funding of the order does not add up.", errors)


def funding_missing(order: WorkOrder) -> Invalid | None:
    """The refusal of an order that nobody pays."""
    if order_funding(order):
        return None
    return Invalid("Say which fund pays this order.", [FieldError("funding", "is empty", code="required")])


@writing()
def commitments_post(*, order: WorkOrder, stamp: Stamp) -> list[Commitment]:
    """The planned cost of an order as it is issued, by visit, prescription, category and fund. What was taken back when
    the order was void is posted anew when it stands again."""
    if refusal := funding_missing(order):
        raise refusal
    funding = order_funding(order)
    rows = [row for share in order_shares(order) for row in _commitments_of(share, order, funding, stamp)]
    taken_back = set(Commitment.objects.filter(order=order, is_reversal=True).values_list("posting_key", flat=True))
    for row in rows:
        while reversal_key(row.posting_key) in taken_back:
            row.posting_key = f"{row.posting_key}:again"
    return Commitment.objects.bulk_create(rows)


def _commitments_of(
    share: VisitShare, order: WorkOrder, funding: list[OrderFunding], stamp: Stamp
) -> Iterable[Commitment]:
    asked = share.prescription
    part = Fraction(asked.share_left) * Fraction(share.share)
    weights = [row.share_e4 for row in funding]
    minutes = split_cents(round(part * Fraction(asked.estimate.paid_person_hours) * 60), weights)
    for category in ("labor", "material", "equipment", "mileage"):
        planned = getattr(asked.estimate, f"{category}_cents")
        cents = split_cents(to_cents(part * planned / 100), weights)
        for row, amount, worked in zip(funding, cents, minutes, strict=True):
            if amount:
                yield Commitment(
                    posting_key=f"plan:{share.pk}:{category}:{row.fund_id}:{row.award_id or ''}",
                    category=category,
                    amount_cents=amount,
                    minutes=worked if category == "labor" else 0,
                    **_dimensions(order, share.visit, asked, share.visit.day, share.visit.day, stamp),
                    fund_id=row.fund_id,
                    award_id=row.award_id,
                )


def _dimensions(
    order: WorkOrder, visit: Any, prescription: Prescription, work_date: date, posted_on: date, stamp: Stamp
) -> dict[str, Any]:
    """Copied, so that a later rename, split or move changes no history."""
    return {
        "order": order,
        "visit": visit,
        "prescription": prescription,
        "order_number": order.number,
        "site_code": order.site.code,
        "patch_code": prescription.patch.code,
        "species_code": prescription.estimate.main_species_code,
        "method_code": prescription.method.code,
        "crew_name": order.crew.name,
        "work_date": work_date,
        "posting_month": posted_on.replace(day=1),
        "posted_at": stamp.at,
        "posted_by": stamp.by,
    }


@writing()
def commitments_reverse(
    *, order: WorkOrder, parts: Iterable[VisitShare] | None = None, stamp: Stamp
) -> list[Commitment]:
    """A void order is planned to cost nothing any more; nor are parts of visits that leave it."""
    leaving = None if parts is None else {(part.visit_id, part.prescription_id) for part in parts}
    rows = []
    for row in commitments_standing(order):
        if row.purchase_line_id is not None:
            continue  # a purchase stands until its own order is closed or void
        if leaving is not None and (row.visit_id, row.prescription_id) not in leaving:
            continue
        opposite = copied(row, posting_key=reversal_key(row.posting_key), stamp=stamp)
        rows.append(Commitment(**opposite, is_reversal=True, amount_cents=-row.amount_cents, minutes=-row.minutes))
    return Commitment.objects.bulk_create(rows)


COPIED: tuple[str, ...] = ("category", "order_id", "visit_id", "prescription_id", "order_number", "site_code")
COPIED += (
    "patch_code",
    "species_code",
    "method_code",
    "crew_name",
    "fund_id",
    "award_id",
    "work_date",
    "posting_month",
)


def copied(row: Any, *, posting_key: str, stamp: Stamp) -> dict[str, Any]:
    return {
        "posting_key": posting_key,
        "posted_at": stamp.at,
        "posted_by": stamp.by,
        **{name: getattr(row, name) for name in COPIED},
    }


@writing()
def close_out_post(*, close_out: CloseOut, posted_on: date, stamp: Stamp) -> list[LedgerEntry]:
    """What a close-out cost: labor at the person's own rate, material by lot, mileage and equipment by visit."""
    funding = order_funding(close_out.order)
    suspense = fund_suspense()
    rows = [
        row
        for cost in costs_of_close_out(close_out)
        for row in entries_make(
            cost,
            payers_of(cost, funding, suspense),
            revision=close_out.revision,
            posted_on=posted_on,
            reason=close_out.reason,
            stamp=stamp,
        )
    ]
    return entries_post(rows, stamp=stamp)


@writing()
def close_out_reverse(*, close_out: CloseOut, posted_on: date, stamp: Stamp) -> list[LedgerEntry]:
    """Take back what a superseded close-out posted: one opposite row for each, in the period of today."""
    return entries_reverse(ledger_standing(close_out), posted_on=posted_on, stamp=stamp)
