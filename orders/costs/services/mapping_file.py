"""Outer accounts as a CSV file: out as they stand, and in as a whole or not at all."""

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from orders.common.errors import FieldError, Invalid, Refusal
from orders.common.spreadsheets import text_guarded
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import AccountMapping, Award, Fund
from orders.costs.services.journal import MappingKey, account_mapping_add, account_mapping_edit, mapping_known

COLUMNS = ("account", "fund", "award", "category", "outer_code", "outer_name")
MOST_ROWS = 5_000
Found = TypeVar("Found")


@dataclass(frozen=True)
class MappingsImported:
    added: int
    changed: int
    same: int


def mappings_csv(rows: Iterable[AccountMapping]) -> str:
    """RFC 4180; text is guarded against formulas."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in rows:
        fund, award = row.fund.code if row.fund else "", row.award.code if row.award else ""
        cells = [row.account, fund, award, row.category, row.outer_code, row.outer_name]
        writer.writerow([text_guarded(cell) for cell in cells])
    return out.getvalue()


@writing()
def account_mappings_import(*, text: str, stamp: Stamp) -> MappingsImported:
    """Add what is new, give what is known its code; what the file leaves out stays. One wrong row, and nothing of the
    file is taken: every wrong row is named by the number that its reader sees, the header being row 1."""
    funds = {fund.code: fund for fund in Fund.objects.all()}
    awards = {award.code: award for award in Award.objects.all()}
    counts, errors = {"added": 0, "changed": 0, "same": 0}, []
    for number, row in enumerate(_rows(text), start=2):
        try:
            counts[_row_take(row, funds, awards, stamp)] += 1
        except Refusal as refusal:
            told = refusal.errors or [FieldError("row", refusal.detail)]
            errors += [FieldError(error.field, error.message, row=number, code=error.code) for error in told]
    if errors:
        raise Invalid("Nothing of the file was taken.", errors)
    return MappingsImported(**counts)


def _rows(text: str) -> list[dict[str, str]]:
    reader = csv.DictReader(io.StringIO(text.removeprefix("\ufeff"), newline=""))
    if set(reader.fieldnames or []) != set(COLUMNS):
        raise Invalid("The file cannot be read.", [FieldError("file", f"needs the columns {', '.join(COLUMNS)}")])
    rows = [{name: _unguarded(row.get(name) or "") for name in COLUMNS} for row in reader]
    if len(rows) > MOST_ROWS:
        raise Invalid("The file is too long.", [FieldError("file", f"has more than {MOST_ROWS} rows")])
    return rows


def _unguarded(cell: str) -> str:
    """As it was before it was made safe for a spreadsheet."""
    cell = cell.strip()
    return cell[1:] if cell.startswith("'") and text_guarded(cell[1:]) == cell else cell


def _row_take(row: dict[str, str], funds: Mapping[str, Fund], awards: Mapping[str, Award], stamp: Stamp) -> str:
    """What became of the row: added, changed, same."""
    fund, award = _named(funds, row["fund"], "fund"), _named(awards, row["award"], "award")
    key = MappingKey(row["account"], fund, award, row["category"])
    code, name = row["outer_code"], row["outer_name"]
    known = mapping_known(key)
    if known is None:
        account_mapping_add(key=key, outer_code=code, outer_name=name, stamp=stamp)
        return "added"
    if (known.outer_code, known.outer_name) == (code, name):
        return "same"
    account_mapping_edit(mapping=known, outer_code=code, outer_name=name, expected=known.version, stamp=stamp)
    return "changed"


def _named(rows: Mapping[str, Found], code: str, field: str) -> Found | None:
    if code and code not in rows:
        raise Invalid("A row names what is not known here.", [FieldError(field, f"{code} is not known here")])
    return rows[code] if code else None
