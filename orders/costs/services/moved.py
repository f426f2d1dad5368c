"""Posting standing rows anew with another payer: the rows keep what they are of, and only who pays changes."""

from collections.abc import Iterable, Sequence
from datetime import date

from estimating.pricing import split_cents
from orders.common.stamp import Stamp
from orders.costs.models import Award, Fund, LedgerEntry
from orders.costs.services.entries import REVERSED, Payer
from orders.costs.services.periods import posting_month_for


def row_moved(row: LedgerEntry, fund: Fund, award: Award | None, *, posted_on: date, stamp: Stamp) -> LedgerEntry:
    """The same row with another payer, not saved yet; its key is the old one's, for the caller to make its own."""
    facts = {name: getattr(row, name) for name in REVERSED if name not in {"fund_id", "award_id"}}
    return LedgerEntry(
        **facts,
        fund=fund,
        award=award,
        posting_key=row.posting_key,
        amount_cents=row.amount_cents,
        quantity=row.quantity,
        posting_month=posting_month_for(posted_on),
        posted_at=stamp.at,
        posted_by=stamp.by,
        reason=stamp.reason,
    )


def rows_split_anew(
    rows: Iterable[LedgerEntry], payers: Sequence[Payer], *, posted_on: date, stamp: Stamp
) -> list[LedgerEntry]:
    """Standing rows of costs or match, joined over who paid and split over the payers; each source and patch keeps its
    sum to the cent. Not saved yet."""
    joined: dict[tuple[object, ...], list[LedgerEntry]] = {}
    for row in rows:
        key = row.book, row.source_kind, row.source_id, row.revision, row.prescription_id, row.category
        joined.setdefault(key, []).append(row)
    weights = [payer.share_e4 for payer in payers]
    made = []
    for parts in joined.values():
        cents = split_cents(sum(part.amount_cents for part in parts), weights)
        quantities = split_cents(sum(part.quantity for part in parts), weights)
        for payer, amount, quantity in zip(payers, cents, quantities, strict=True):
            row = row_moved(parts[0], payer.fund, payer.award, posted_on=posted_on, stamp=stamp)
            row.amount_cents, row.quantity = amount, quantity
            row.posting_key = key_of(row)
            made.append(row)
    return made


def key_of(row: LedgerEntry) -> str:
    """As `entries_make` writes it."""
    told = f"{row.source_kind}:{row.source_id}:{row.revision}:{row.prescription_id or ''}"
    return f"{told}:{row.fund_id}:{row.award_id or ''}" + ("" if row.book == "cost" else f":{row.book}:{row.debit}")
