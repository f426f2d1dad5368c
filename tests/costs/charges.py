"""Charges for tests: one amount, posted as a fact from the field or the desk posts it."""

from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID, uuid4

from django.db.models import Sum

from orders.common.stamp import Stamp
from orders.costs.models import Award, Fund, HeldCharge, LedgerEntry
from orders.costs.services.charging import entries_post
from orders.costs.services.entries import Cost, Payer, entries_make

AT = datetime(2027, 2, 1, 20, tzinfo=UTC)
TODAY = date(2027, 2, 1)


def told(reason: str = "as agreed") -> Stamp:
    return Stamp(by=None, at=AT, reason=reason)


def charged(
    fund: Fund,
    award: Award | None,
    cents: int,
    *,
    category: str = "contract",
    on: date = TODAY,
    source: UUID | None = None,
    revision: int = 1,
    site_code: str = "",
) -> list[LedgerEntry]:
    """One cost that is meant for one payer."""
    return charged_to([Payer(fund, award, 10_000)], cents, category, on, source or uuid4(), revision, site_code)


def charged_to(payers: list[Payer], cents: int, *args: Any, **more: Any) -> list[LedgerEntry]:
    return entries_post(charge_made(payers, cents, *args, **more), stamp=told())


def charge_made(
    payers: list[Payer],
    cents: int,
    category: str = "contract",
    on: date = TODAY,
    source: UUID | None = None,
    revision: int = 1,
    site_code: str = "",
) -> list[LedgerEntry]:
    """The rows, not posted yet."""
    cost = Cost(
        category=category,
        amount_cents=cents,
        quantity=1,
        unit="each",
        rate_e4=0,
        rate_origin="amount",
        source_kind="test_fact",
        source_id=source or uuid4(),
        work_date=on,
        site_code=site_code,
    )
    return entries_make(cost, payers, revision=revision, posted_on=TODAY, stamp=told())


def standing(source: UUID) -> list[LedgerEntry]:
    rows = LedgerEntry.objects.filter(source_id=source, reverses__isnull=True, reversed_by__isnull=True)
    return list(rows.order_by("id"))


def spent(**where: object) -> int:
    return int(LedgerEntry.objects.filter(**where).aggregate(cents=Sum("amount_cents"))["cents"] or 0)


def waiting() -> list[tuple[str, int]]:
    rows = HeldCharge.objects.filter(state="waiting").order_by("id")
    return list(rows.values_list("code", "amount_cents"))
