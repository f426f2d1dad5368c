"""What a set of ledger rows comes to, so that it can be held against what it came to before: count, hash, balances."""

import hashlib
import json
from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import QuerySet, Sum

from orders.costs.models import LedgerEntry

# Every fact of a row but its key in the database. The order is part of the hash: add at the end only with a new proof.
HASHED = (
    "public_id",
    "posting_key",
    "book",
    "debit",
    "credit",
    "category",
    "amount_cents",
    "quantity",
    "unit",
    "rate_e4",
    "rate_origin",
    "fund__code",
    "award__code",
    "person__public_id",
    "person_type",
    "order_number",
    "site_code",
    "patch_code",
    "species_code",
    "method_code",
    "crew_name",
    "work_code",
    "work_date",
    "posting_month",
    "posted_at",
    "source_kind",
    "source_id",
    "revision",
    "reverses__posting_key",
    "reason",
)
ROWS_AT_ONCE = 2_000


@dataclass(frozen=True)
class Digest:
    rows: int
    last_row: int
    sha256: str


def rows_digest(rows: QuerySet[LedgerEntry]) -> Digest:
    """Over the rows in the order in which they were posted: SHA-256 of one JSON list a row, each ended by a newline.
    The rows are read in pieces, so that memory does not grow with them."""
    hashed, count, last = hashlib.sha256(), 0, 0
    for row in rows.order_by("id").values_list("id", *HASHED).iterator(ROWS_AT_ONCE):
        told = json.dumps([_plain(fact) for fact in row[1:]], ensure_ascii=False, separators=(",", ":"))
        hashed.update(told.encode() + b"\n")
        count, last = count + 1, row[0]
    return Digest(count, last, hashed.hexdigest())


def _plain(fact: Any) -> Any:
    if fact is None or isinstance(fact, int):
        return fact
    return fact.isoformat() if isinstance(fact, date | datetime) else str(fact)


def balances(rows: QuerySet[LedgerEntry]) -> dict[str, int]:
    """Of each account in cents, what it was debited less what it was credited. They sum to zero, since each row is a
    transfer; the proof adds them up all the same."""
    summed: Counter[str] = Counter()
    for side, sign in (("debit", 1), ("credit", -1)):
        for account, cents in rows.order_by().values_list(side).annotate(cents=Sum("amount_cents")):
            summed[account] += sign * cents
    return dict(sorted(summed.items()))
