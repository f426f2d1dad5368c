"""Our accounts in somebody else's chart of accounts, and the journals that hand the ledger over in it."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Max, Sum
from django.db.models.functions import Abs

from orders.common.changes import change_record
from orders.common.errors import FieldError, Refusal, WrongState
from orders.common.rows import Findings, plain_values, row_add, row_edit, row_remove
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.journal_file import Coded, Codes, Combination, codes_kept, journal_rows, journal_sha256
from orders.costs.models import AccountMapping, Award, Fund, JournalBatch, LedgerEntry

MOST_TOLD = 50


class AccountsUnmapped(Refusal):
    """The journal holds accounts that no mapping names; `errors` lists each."""

    code = "accounts_unmapped"
    title = "Some accounts have no outer code"


@dataclass(frozen=True)
class MappingKey:
    account: str
    fund: Fund | None = None
    award: Award | None = None
    category: str = ""


@writing()
def account_mapping_add(*, key: MappingKey, outer_code: str, outer_name: str = "", stamp: Stamp) -> AccountMapping:
    """Say which outer code an account has: for a fund, an award, a category, or all of them where they are empty."""
    found = Findings()
    _award_check(found, key.fund, key.award)
    row = AccountMapping(**vars(key), outer_code=outer_code.strip(), outer_name=outer_name.strip())
    found.need(bool(row.outer_code), "outer_code", "Must not be empty.")
    found.need(mapping_known(key) is None, "account", "This combination has an outer code already.")
    return row_add(row, stamp=stamp, verb="account_mapping_add", findings=found)


@writing()
def account_mapping_edit(
    *, mapping: AccountMapping, outer_code: str, outer_name: str, expected: int, stamp: Stamp
) -> AccountMapping:
    """Give the combination another code. Journals that were made keep theirs."""
    values: dict[str, Any] = {"outer_code": outer_code.strip(), "outer_name": outer_name.strip()}
    return row_edit(mapping, stamp=stamp, verb="account_mapping_edit", expected=expected, values=values)


@writing()
def account_mapping_remove(*, mapping: AccountMapping, expected: int, stamp: Stamp) -> None:
    row_remove(mapping, stamp=stamp, verb="account_mapping_remove", expected=expected)


def _award_check(found: Findings, fund: Fund | None, award: Award | None) -> None:
    belongs = award is None or fund is None or award.fund_id == fund.pk
    found.need(belongs, "award", "This award is not paid through that fund.")


def mapping_known(key: MappingKey) -> AccountMapping | None:
    rows = AccountMapping.objects.filter(account=key.account, category=key.category)
    rows = rows.filter(fund=key.fund) if key.fund else rows.filter(fund__isnull=True)
    return (rows.filter(award=key.award) if key.award else rows.filter(award__isnull=True)).first()


@writing()
def journal_export(stamp: Stamp) -> JournalBatch:
    """Hand over every ledger row after the last journal's, up to the newest. Refused as a whole while one of its
    accounts has no outer code. The file is made from the rows whenever it is asked for, the same bytes each time."""
    last_batch = JournalBatch.objects.order_by("-number").first()
    after = last_batch.last_row if last_batch else 0
    last = LedgerEntry.objects.filter(id__gt=after).aggregate(last=Max("id"))["last"]
    if last is None:
        raise WrongState("Nothing was posted since the last journal.")
    codes = _codes(after, last)
    number = last_batch.number + 1 if last_batch else 1
    rows = journal_rows(after, last).order_by()
    batch = JournalBatch.objects.create(
        number=number,
        after_row=after,
        last_row=last,
        rows_count=rows.count(),
        total_cents=rows.aggregate(cents=Sum(Abs("amount_cents")))["cents"],
        codes=codes_kept(codes),
        file_sha256=journal_sha256(number, after, last, codes),
        made_at=stamp.at,
        made_by=stamp.by,
    )
    told = {"number": number, "rows": batch.rows_count, "sha256": batch.file_sha256}
    change_record(stamp=stamp, verb="journal_export", entity=batch, after=plain_values(told))
    return batch


def _codes(after: int, last: int) -> Codes:
    """Of every combination in the rows; refused with the list of those that no mapping fits."""
    wanted = _combinations(after, last)
    funds = Fund.objects.in_bulk({one.fund for one in wanted})
    awards = Award.objects.in_bulk({one.award for one in wanted if one.award})
    mappings = list(AccountMapping.objects.all())
    codes, missing = {}, []
    for one in sorted(wanted, key=lambda one: (one.account, one.fund, one.award or 0, one.category)):
        fund, award = funds[one.fund].code, awards[one.award].code if one.award else ""
        fitting = [row for row in mappings if _fits(row, one)]
        if fitting:
            best = max(fitting, key=_fullness)
            codes[one] = Coded(best.outer_code, best.outer_name, fund, award)
        else:
            missing.append(" · ".join(word for word in (one.account, fund, award, one.category) if word))
    if missing:
        errors = [FieldError("account", words, code="unmapped") for words in missing[:MOST_TOLD]]
        more = f", {len(missing) - MOST_TOLD} more than are listed" if len(missing) > MOST_TOLD else ""
        raise AccountsUnmapped(f"{len(missing)} combinations have no outer code{more}.", errors)
    return codes


def _combinations(after: int, last: int) -> set[Combination]:
    found = set()
    for side in ("debit", "credit"):
        rows = journal_rows(after, last).order_by().values_list(side, "fund_id", "award_id", "category").distinct()
        found |= {Combination(*row) for row in rows}
    return found


def _fits(row: AccountMapping, one: Combination) -> bool:
    return (
        row.account == one.account
        and row.fund_id in {None, one.fund}
        and row.award_id in {None, one.award}
        and row.category in {"", one.category}
    )


def _fullness(row: AccountMapping) -> tuple[int, bool, bool]:
    """The most fields filled; among equals the award says more than the fund, and the fund more than the category."""
    filled = [row.award_id is not None, row.fund_id is not None, bool(row.category)]
    return sum(filled), filled[0], filled[1]
