"""A journal as a file: each ledger row as two lines, its debit and its credit, in the codes of somebody else's chart of
accounts. RFC 4180. The same batch gives the same bytes at any time: rows never change, and codes stand with the batch.
"""

import csv
import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from orders.common.spreadsheets import text_guarded
from orders.costs.models import JournalBatch, LedgerEntry

COLUMNS = (
    "journal",
    "row",
    "line",
    "posting_month",
    "work_date",
    "account_code",
    "account_name",
    "debit",
    "credit",
    "account",
    "fund",
    "award",
    "category",
    "order",
    "site",
    "source",
    "reference",
    "reverses",
)
READ = (
    "id",
    "public_id",
    "debit",
    "credit",
    "fund_id",
    "award_id",
    "category",
    "amount_cents",
    "posting_month",
    "work_date",
    "order_number",
    "site_code",
    "source_kind",
    "reverses__public_id",
)
ROWS_AT_ONCE = 2_000


@dataclass(frozen=True, order=True)
class Combination:
    """What a mapping is looked up by. Keys, not rows: a journal has few combinations and many rows."""

    account: str
    fund: int
    award: int | None
    category: str


@dataclass(frozen=True)
class Coded:
    """A combination in outer words, with the fund's and award's codes as they were."""

    outer_code: str
    outer_name: str
    fund_code: str
    award_code: str


Codes = dict[Combination, Coded]


class _Line:
    """What csv writes into: it hands each line back."""

    def write(self, line: str) -> str:
        return line


def codes_kept(codes: Codes) -> list[list[Any]]:
    """As JSON, to stand with the batch."""
    return [[*vars(key).values(), *vars(coded).values()] for key, coded in codes.items()]


def codes_read(kept: Iterable[list[Any]]) -> Codes:
    return {Combination(*row[:4]): Coded(*row[4:]) for row in kept}


def journal_rows(after: int, last: int) -> QuerySet[LedgerEntry]:
    return LedgerEntry.objects.filter(id__gt=after, id__lte=last).order_by("id")


def journal_lines(batch: JournalBatch) -> Iterator[bytes]:
    """The file, line by line, so that memory does not grow with it."""
    yield from lines_of(batch.number, batch.after_row, batch.last_row, codes_read(batch.codes))


def lines_of(number: int, after: int, last: int, codes: Codes) -> Iterator[bytes]:
    writer: Any = csv.writer(_Line(), lineterminator="\r\n")
    yield writer.writerow(COLUMNS).encode()
    for row in journal_rows(after, last).values_list(*READ).iterator(ROWS_AT_ONCE):
        for cells in _two_lines(number, row, codes):
            yield writer.writerow(cells).encode()


def _two_lines(number: int, row: tuple[Any, ...], codes: Codes) -> Iterator[list[Any]]:
    """A row below zero takes back: what it debits is credited, so that no amount is negative."""
    key, reference, debit, credit, fund, award, category, cents, month, worked, order, site, source, reverses = row
    for line, (account, is_debit) in enumerate(((debit, True), (credit, False)), start=1):
        coded = codes[Combination(account, fund, award, category)]
        amount = _dollars(abs(cents))
        sides = [amount, ""] if is_debit == (cents >= 0) else ["", amount]
        texts = [account, coded.fund_code, coded.award_code, category]
        yield [
            number,
            key,
            line,
            f"{month:%Y-%m}",
            worked.isoformat(),
            text_guarded(coded.outer_code),
            text_guarded(coded.outer_name),
            *sides,
            *map(text_guarded, texts),
            order or "",
            text_guarded(site),
            source,
            reference,
            reverses or "",
        ]


def _dollars(cents: int) -> str:
    return f"{cents // 100}.{cents % 100:02d}"


def journal_sha256(number: int, after: int, last: int, codes: Codes) -> str:
    hashed = hashlib.sha256()
    for line in lines_of(number, after, last, codes):
        hashed.update(line)
    return hashed.hexdigest()
