"""The ledger and the commitments row by row, and the balance of accounts."""

from collections.abc import Mapping
from typing import Any

from django.db.models import Q, QuerySet, Sum

from orders.common.models import User
from orders.costs.models import ACCOUNTS, BOOKS, CATEGORIES, Commitment, LedgerEntry
from orders.costs.selectors import costs_open_to
from orders.reports.asking import Asked, asked_read
from orders.reports.cube import field_of
from orders.reports.lines import LazyRows, Line
from orders.reports.table import Column, Table

ACCOUNT_NAMES, BOOK_NAMES, CATEGORY_NAMES = dict(ACCOUNTS), dict(BOOKS), dict(CATEGORIES)

PLACES = (
    Column("order", "Work order", "whole"),
    Column("site", "Site", "text"),
    Column("patch", "Patch", "text"),
    Column("species", "Species", "text", is_for_files=True),
    Column("method", "Method", "text"),
    Column("crew", "Crew", "text"),
    Column("fund", "Fund", "text"),
    Column("award", "Award", "text"),
    Column("category", "Category", "text"),
)


def ledger_table(actor: User, query: Mapping[str, str]) -> Table:
    """Every row as it was posted, in its order. Books do not add up with one another, so only one of them is summed."""
    costs_open_to(actor)
    asked = asked_read(query)
    columns = (
        Column("number", "Row", "whole"),
        Column("book", "Book", "text"),
        Column("work_date", "Worked", "day"),
        Column("posting_month", "Posted to", "month"),
        Column("debit", "Debit", "text"),
        Column("credit", "Credit", "text"),
        Column("amount_cents", "Amount", "cents", total=bool(asked.book)),
        *PLACES,
        Column("person", "Person", "text"),
        Column("person_type", "Kind of person", "text", is_for_files=True),
        Column("quantity", "Quantity", "whole", is_for_files=True),
        Column("unit", "Unit", "text", is_for_files=True),
        Column("rate_e4", "Rate, 1/10,000 $", "whole", is_for_files=True),
        Column("rate_origin", "Rate from", "text", is_for_files=True),
        Column("source", "Source", "text", is_for_files=True),
        Column("revision", "Revision", "whole", is_for_files=True),
        Column("reverses", "Takes back row", "whole"),
        Column("reason", "Reason", "text"),
        Column("id", "Id", "text", is_for_files=True),
    )
    rows = ledger_rows(asked).select_related("fund", "award", "person").order_by("id")
    return Table("Ledger", asked.told(), columns, LazyRows(rows, _ledger_cells))


def ledger_rows(asked: Asked) -> QuerySet[LedgerEntry]:
    """Of all books, or of one."""
    rows = LedgerEntry.objects.filter(**asked.where())
    rows = rows.filter(book=asked.book) if asked.book else rows
    return rows.filter(Q(debit=asked.account) | Q(credit=asked.account)) if asked.account else rows


def _ledger_cells(row: LedgerEntry) -> tuple[Any, ...]:
    return (
        row.pk,
        BOOK_NAMES[row.book],
        row.work_date,
        row.posting_month,
        ACCOUNT_NAMES.get(row.debit, row.debit),
        ACCOUNT_NAMES.get(row.credit, row.credit),
        row.amount_cents,
        *_place_cells(row),
        row.person.name if row.person else "",
        row.person_type,
        row.quantity,
        row.unit,
        row.rate_e4,
        row.rate_origin,
        row.source_kind,
        row.revision,
        row.reverses_id,
        row.reason,
        str(row.public_id),
    )


def _place_cells(row: Any) -> tuple[Any, ...]:
    return (
        row.order_number,
        row.site_code,
        row.patch_code,
        row.species_code,
        row.method_code,
        row.crew_name,
        row.fund.code,
        row.award.code if row.award else "",
        CATEGORY_NAMES[row.category],
    )


def commitments_table(actor: User, query: Mapping[str, str]) -> Table:
    """What issued orders were planned to cost; a void takes it back with a row of its own."""
    costs_open_to(actor)
    asked = asked_read(query)
    columns = (
        Column("number", "Row", "whole"),
        Column("work_date", "Planned day", "day"),
        Column("posting_month", "Month", "month"),
        Column("amount_cents", "Amount", "cents", total=True),
        Column("minutes", "Hours", "minutes", total=True),
        *PLACES,
        Column("taken_back", "Takes back", "text"),
        Column("id", "Id", "text", is_for_files=True),
    )
    rows = Commitment.objects.filter(**asked.where()).select_related("fund", "award").order_by("id")
    return Table("Commitments", asked.told(), columns, LazyRows(rows, _commitment_cells))


def _commitment_cells(row: Commitment) -> tuple[Any, ...]:
    taken_back = "yes" if row.is_reversal else ""
    start = (row.pk, row.work_date, row.posting_month, row.amount_cents, row.minutes)
    return (*start, *_place_cells(row), taken_back, str(row.public_id))


def trial_balance_table(actor: User, query: Mapping[str, str]) -> Table:
    """Debits and credits of each account in each month. Every row of the ledger has both, so both totals are equal."""
    costs_open_to(actor)
    asked = asked_read(query)
    sides: dict[tuple[Any, str, str], list[int]] = {}
    for place, side in enumerate(("debit", "credit")):
        for month, book, account, cents in _side(asked, side):
            sides.setdefault((month, book, account), [0, 0])[place] += cents
    order = {code: number for number, (code, _) in enumerate(ACCOUNTS)}
    found = sorted(sides.items(), key=lambda item: (item[0][0], item[0][1], order[item[0][2]]))
    columns = (
        Column("month", "Month", "month"),
        Column("book", "Book", "text"),
        Column("account", "Account", "text"),
        Column("debit_cents", "Debits", "cents", total=True),
        Column("credit_cents", "Credits", "cents", total=True),
        Column("balance_cents", "Balance", "cents", total=True),
    )
    rows = [
        Line.of(
            (month, BOOK_NAMES[book], ACCOUNT_NAMES[account], debit, credit, debit - credit),
            account=account,
            book=book,
            month_from=f"{month:%Y-%m}",
            month_to=f"{month:%Y-%m}",
        )
        for (month, book, account), (debit, credit) in found
    ]
    debits, credits = (sum(pair[place] for pair in sides.values()) for place in (0, 1))
    total = ("Total", None, None, debits, credits, debits - credits)
    return Table("Trial balance", asked.told(), columns, rows, total)


def _side(asked: Asked, side: str) -> list[tuple[Any, str, str, int]]:
    where = asked.where() | ({"book": asked.book} if asked.book else {})
    rows = LedgerEntry.objects.filter(**where).order_by()
    if asked.account:
        rows = rows.filter(**{side: asked.account})
    month = field_of(LedgerEntry, "posting_month", asked.basis)
    summed = rows.annotate(key=month).values_list("key", "book", side).annotate(cents=Sum("amount_cents"))
    return list(summed)
