"""Making ledger rows: the one way in which anything is posted, and the one way in which it is taken back.

A cost is split over what it was for and who pays at once, by largest remainder, so that the parts sum to the whole to
the cent whichever way they are cut later.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any
from uuid import UUID

from estimating.pricing import split_cents
from orders.common.stamp import Stamp
from orders.costs.models import CLEARED_THROUGH, Award, Fund, LedgerEntry
from orders.costs.selectors import reversal_key
from orders.costs.services.holding import charges_gone
from orders.costs.services.periods import posting_month_for
from orders.crews.models import Person
from orders.planning.models import Prescription, Visit
from orders.workorders.models import WorkOrder

WHOLE_E4 = 10_000
Served = list[tuple[Prescription, Fraction]]


@dataclass(frozen=True)
class Payer:
    fund: Fund
    award: Award | None
    share_e4: int


@dataclass(frozen=True)
class Cost:
    """One amount to be posted. `served` says which prescriptions bear it, with their weights; empty where it is for no
    patch. `source_kind`, `source_id` and `revision` say what caused it: nothing posts twice. Debit and credit follow
    from the category unless they are named."""

    category: str
    amount_cents: int
    quantity: int
    unit: str
    rate_e4: int
    rate_origin: str
    source_kind: str
    source_id: UUID
    work_date: date
    order: WorkOrder | None = None
    visit: Visit | None = None
    served: Served = field(default_factory=list)
    person: Person | None = None
    work_code: str = ""
    site_code: str = ""  # where there is no order to tell it
    crew_name: str = ""
    book: str = "cost"
    debit: str = ""
    credit: str = ""


def entries_make(
    cost: Cost, payers: Sequence[Payer], *, revision: int, posted_on: date, reason: str = "", stamp: Stamp
) -> list[LedgerEntry]:
    """The rows of one cost, not saved yet."""
    parts: dict[tuple[Prescription | None, int, int | None], Fraction] = {}
    served: list[tuple[Prescription | None, Fraction]] = [*cost.served] or [(None, Fraction(1))]
    for prescription, weight in served:
        for payer in payers:
            key = (prescription, payer.fund.pk, payer.award.pk if payer.award else None)
            parts[key] = parts.get(key, Fraction(0)) + weight * payer.share_e4
    weights = list(parts.values())
    cents = split_cents(cost.amount_cents, weights)
    quantities = split_cents(cost.quantity, weights)
    common = _common(cost, revision=revision, posted_on=posted_on, reason=reason, stamp=stamp)
    return [
        LedgerEntry(
            posting_key=_key(cost, revision, prescription, fund_pk, award_pk),
            **common,
            **_place(cost, prescription),
            amount_cents=amount,
            quantity=quantity,
            fund_id=fund_pk,
            award_id=award_pk,
        )
        for (prescription, fund_pk, award_pk), amount, quantity in zip(parts, cents, quantities, strict=True)
    ]


def _common(cost: Cost, *, revision: int, posted_on: date, reason: str, stamp: Stamp) -> dict[str, Any]:
    return {
        "book": cost.book,
        "category": cost.category,
        "debit": cost.debit or f"cost-{cost.category}",
        "credit": cost.credit or CLEARED_THROUGH[cost.category],
        "order": cost.order,
        "visit": cost.visit,
        "work_code": cost.work_code,
        "person": cost.person,
        "person_type": cost.person.person_type if cost.person else "",
        "unit": cost.unit,
        "rate_e4": cost.rate_e4,
        "rate_origin": cost.rate_origin,
        "source_kind": cost.source_kind,
        "source_id": cost.source_id,
        "revision": revision,
        "work_date": cost.work_date,
        "posting_month": posting_month_for(posted_on),
        "posted_at": stamp.at,
        "posted_by": stamp.by,
        "reason": reason,
    }


def _place(cost: Cost, prescription: Prescription | None) -> dict[str, Any]:
    """Copied, so that a later rename, split or move changes no history."""
    order = cost.order
    return {
        "prescription": prescription,
        "order_number": order.number if order else None,
        "site_code": order.site.code if order else cost.site_code,
        "crew_name": order.crew.name if order else cost.crew_name,
        "patch_code": prescription.patch.code if prescription else "",
        "species_code": prescription.estimate.main_species_code if prescription else "",
        "method_code": prescription.method.code if prescription else "",
    }


def _key(cost: Cost, revision: int, prescription: Prescription | None, fund: int, award: int | None) -> str:
    told = f"{cost.source_kind}:{cost.source_id}:{revision}:{prescription.pk if prescription else ''}:{fund}"
    return f"{told}:{award or ''}" + ("" if cost.book == "cost" else f":{cost.book}:{cost.debit}")


REVERSED = tuple(
    one.attname
    for one in LedgerEntry._meta.concrete_fields
    if one.name
    not in {
        "id",
        "public_id",
        "posting_key",
        "amount_cents",
        "quantity",
        "posting_month",
        "posted_at",
        "posted_by",
        "reverses",
        "reason",
    }
)


def entries_reverse(rows: Iterable[LedgerEntry], *, posted_on: date, stamp: Stamp) -> list[LedgerEntry]:
    """Take back: one opposite row for each, in the open period of the day. Whoever calls has made sure that none of
    them was reversed before; the database refuses a second one."""
    taken_back = list(rows)
    month = posting_month_for(posted_on)
    opposite = [
        LedgerEntry(
            **{name: getattr(row, name) for name in REVERSED},
            posting_key=reversal_key(row.posting_key),
            amount_cents=-row.amount_cents,
            quantity=-row.quantity,
            posting_month=month,
            posted_at=stamp.at,
            posted_by=stamp.by,
            reverses=row,
            reason=stamp.reason,
        )
        for row in taken_back
    ]
    charges_gone(taken_back, stamp=stamp)
    return LedgerEntry.objects.bulk_create(opposite)
