"""Every row is handed over once, in outer codes, as two lines that balance; the file stays the same."""

import csv
import hashlib
import io

import pytest

from orders import corrections
from orders.common.errors import Invalid, WrongState
from orders.costs.journal_file import journal_lines
from orders.costs.models import AccountMapping, JournalBatch, LedgerEntry
from orders.costs.services.journal import (
    AccountsUnmapped,
    MappingKey,
    account_mapping_add,
    account_mapping_edit,
    account_mapping_remove,
    journal_export,
)
from tests import build
from tests.costs.month_end import office_build, the_order
from tests.flow.world import WORK_DAY, statement

pytestmark = pytest.mark.django_db

ACCOUNTS = ("cost-labor", "cost-mileage", "clear-payroll", "clear-mileage", "cost-material", "clear-stock")


@pytest.fixture
def office():
    return office_build()


def _mapped(office):
    for number, account in enumerate(ACCOUNTS):
        account_mapping_add(key=MappingKey(account), outer_code=f"{7000 + number}", stamp=office.stamp())


def _lines(batch):
    return list(csv.DictReader(io.StringIO(b"".join(journal_lines(batch)).decode(), newline="")))


def _cents(lines, side):
    return sum(round(float(line[side]) * 100) for line in lines if line[side])


def test_it_hands_over_every_row_as_two_lines_that_balance(office):
    _mapped(office)
    batch = journal_export(office.stamp())
    lines = _lines(batch)
    assert (batch.number, len(lines)) == (1, 2 * LedgerEntry.objects.count())
    assert _cents(lines, "debit") == _cents(lines, "credit") == batch.total_cents > 0
    assert {line["account_code"] for line in lines} >= {"7000", "7002"}


def test_it_refuses_as_a_whole_with_the_list_of_what_is_not_mapped(office):
    account_mapping_add(key=MappingKey("cost-labor"), outer_code="7000", stamp=office.stamp())
    with pytest.raises(AccountsUnmapped) as refused:
        journal_export(office.stamp())
    assert {error.message for error in refused.value.errors} >= {"clear-payroll · OPS · labor"}
    assert JournalBatch.objects.count() == 0


def test_it_goes_on_after_the_last_one(office):
    _mapped(office)
    first = journal_export(office.stamp())
    with pytest.raises(WrongState):
        journal_export(office.stamp())
    corrections.amend_close_out(
        order=the_order(),
        statement=statement(the_order(), minutes=200),
        stamp=office.world.stamp(office.world.lead, WORK_DAY, "Miscounted."),
    )
    second = journal_export(office.stamp())
    assert (second.number, second.after_row) == (2, first.last_row)
    assert first.rows_count + second.rows_count == LedgerEntry.objects.count()
    lines = _lines(second)
    assert _cents(lines, "debit") == _cents(lines, "credit")
    assert all("-" not in line["debit"] + line["credit"] for line in lines)
    back = next(line for line in lines if line["reverses"] and line["account"] == "cost-labor")
    assert (back["debit"], bool(back["credit"])) == ("", True)


def test_it_gives_the_same_bytes_after_the_mapping_and_the_fund_have_changed(office):
    _mapped(office)
    batch = journal_export(office.stamp())
    before = b"".join(journal_lines(batch))
    assert hashlib.sha256(before).hexdigest() == batch.file_sha256
    mapping = AccountMapping.objects.get(account="cost-labor")
    account_mapping_edit(mapping=mapping, outer_code="9", outer_name="", expected=1, stamp=office.stamp())
    office.world.fund.__class__.objects.filter(code="OPS").update(code="NEW")
    assert b"".join(journal_lines(JournalBatch.objects.get())) == before


def test_it_takes_the_fullest_mapping(office):
    _mapped(office)
    fund = office.world.fund
    for key, code in (
        (MappingKey("cost-labor", category="labor"), "by-category"),
        (MappingKey("cost-labor", fund=fund), "by-fund"),
        (MappingKey("cost-labor", fund=build.FundFactory()), "other-fund"),
    ):
        account_mapping_add(key=key, outer_code=code, stamp=office.stamp())
    labor = {line["account_code"] for line in _lines(journal_export(office.stamp())) if line["account"] == "cost-labor"}
    assert labor == {"by-fund"}


def test_it_guards_codes_against_formulas(office):
    _mapped(office)
    mapping = AccountMapping.objects.get(account="cost-labor")
    account_mapping_edit(mapping=mapping, outer_code="=1+1", outer_name="", expected=1, stamp=office.stamp())
    assert "'=1+1" in {line["account_code"] for line in _lines(journal_export(office.stamp()))}


def test_it_maps_a_combination_once(office):
    account_mapping_add(key=MappingKey("cost-labor"), outer_code="1", stamp=office.stamp())
    with pytest.raises(Invalid):
        account_mapping_add(key=MappingKey("cost-labor"), outer_code="2", stamp=office.stamp())


def test_it_refuses_an_award_of_another_fund(office):
    key = MappingKey("cost-labor", fund=office.world.fund, award=build.AwardFactory())
    with pytest.raises(Invalid):
        account_mapping_add(key=key, outer_code="1", stamp=office.stamp())


def test_it_removes_a_mapping(office):
    mapping = account_mapping_add(key=MappingKey("cost-labor"), outer_code="1", stamp=office.stamp())
    account_mapping_remove(mapping=mapping, expected=1, stamp=office.stamp())
    assert not AccountMapping.objects.exists()
