"""What payroll really cost, taken from files of other programs and settled against the ledger."""

import csv
import io
from collections import Counter

import pytest
from django.db.models import Sum

from orders.common.errors import Invalid, WrongState
from orders.common.models import Change
from orders.costs.models import LedgerEntry, PayrollImport, PayrollImportLine
from orders.costs.payroll_selectors import reconciliation
from orders.costs.services.payroll_import import payroll_import
from tests import build
from tests.costs.payday import A_DAY, DAY, FIRST, LAST, exported, labor, period, worked

pytestmark = pytest.mark.django_db


@pytest.fixture
def suspense():
    return build.FundFactory(code="SUSP", is_suspense=True)


def file(*rows, headings=("Person", "Gross", "Employer cost"), **dialect):
    out = io.StringIO()
    csv.writer(out, **dialect).writerows([headings, *rows])
    return out.getvalue().encode()


def loaded(into, data, stamp, name="payroll.csv"):
    return payroll_import(period=into, file_name=name, data=data, stamp=stamp)


def settled(source_kind="payroll"):
    """Cents by debit and fund of all settlement rows, reversals counted against."""
    rows = LedgerEntry.objects.filter(source_kind=source_kind).order_by()
    summed = rows.values_list("debit", "fund__code").annotate(cents=Sum("amount_cents"))
    return {(debit, fund): cents for debit, fund, cents in summed if cents}


def test_it_settles_the_ledger_by_fund_and_the_rest_as_a_difference(stamp):
    person, city, grant = build.PersonFactory(name="R. Teasel"), build.FundFactory(code="C"), build.AwardFactory()
    grant.fund.code = "G"
    grant.fund.save()
    labor(person, 30_000, city)
    labor(person, 8_000, grant.fund, award=grant)
    labor(person, 2_000, grant.fund, award=grant, category="premium", source_kind="overtime")
    done = loaded(exported(stamp=stamp), file(["R. Teasel", "400.00", "4.01"]), stamp)
    assert (done.revision, done.total_cents, done.ledger_cents) == (1, 40_401, 40_000)
    assert settled() == {
        ("clear-payroll", "C"): 30_000,
        ("clear-payroll", "G"): 10_000,
        ("clear-variance", "C"): 301,
        ("clear-variance", "G"): 100,
    }
    rows = LedgerEntry.objects.filter(source_kind="payroll")
    assert {(row.book, row.credit, row.work_date) for row in rows} == {("clearing", "fund", LAST)}
    assert {row.award for row in rows if row.fund == grant.fund} == {grant}


def test_payroll_clearing_comes_to_nothing(stamp):
    person, fund = build.PersonFactory(name="R. Teasel"), build.FundFactory()
    wrong = labor(person, 50_000, fund)
    labor(person, -50_000, fund, minutes=-480, reverses=wrong)
    labor(person, 20_000, fund)
    labor(person, 7_000, fund, day=LAST + A_DAY)
    loaded(exported(stamp=stamp), file(["R. Teasel", "150", "20"]), stamp)
    rows = LedgerEntry.objects.filter(work_date__lte=LAST)
    credits = rows.filter(credit="clear-payroll").aggregate(cents=Sum("amount_cents"))["cents"]
    debits = rows.filter(debit="clear-payroll").aggregate(cents=Sum("amount_cents"))["cents"]
    assert (credits, debits) == (20_000, 20_000)
    assert settled()["clear-variance", fund.code] == -3_000


def test_a_second_file_takes_the_first_one_back(stamp):
    person, fund = build.PersonFactory(name="R. Teasel"), build.FundFactory()
    labor(person, 20_000, fund)
    done = exported(stamp=stamp)
    loaded(done, file(["R. Teasel", "150", "20"]), stamp)
    second = loaded(done, file(["R. Teasel", "190", "20"]), stamp)
    assert (second.revision, second.total_cents) == (2, 21_000)
    assert settled() == {("clear-payroll", fund.code): 20_000, ("clear-variance", fund.code): 1_000}
    third = loaded(done, file(["R. Teasel", "180", "20"]), stamp)
    assert third.revision == 3
    assert settled() == {("clear-payroll", fund.code): 20_000}


def test_who_has_no_labor_waits_in_suspense(stamp, suspense):
    build.PersonFactory(name="R. Teasel")
    loaded(exported(stamp=stamp), file(["R. Teasel", "150", "20"]), stamp)
    assert settled() == {("clear-variance", "SUSP"): 17_000}


DIALECTS = {
    "plain": file(["R. Teasel", "1234.5", "0"], ["L. Rush", "12", "3.05"]),
    "marked, quoted, thousands": b"\xef\xbb\xbf"
    + file(["R. Teasel", "$1,234.50", "0.00"], ["L. Rush", "12.00", "3.05"], quoting=csv.QUOTE_ALL),
    "semicolons": file(["R. Teasel", "1,234.50", "0"], ["L. Rush", "12", "3.05"], delimiter=";", lineterminator="\n"),
    "tabs and empty lines": file(
        ["R. Teasel", "1,234.50", "0"], [], ["L. Rush", "12", "3.05"], ["", "", ""], delimiter="\t"
    ),
    "other columns and headings": file(
        ["7", "0", "r.  TEASEL ", " 1234.50", "x"],
        ["8", "3.05", "L. Rush", "12", "y"],
        headings=("No.", "Taxes and benefits", "Employee name", "GROSS_PAY", "Note"),
    ),
}


@pytest.mark.parametrize("data", DIALECTS.values(), ids=DIALECTS)
def test_it_reads_what_other_programs_write(stamp, suspense, data):
    build.PersonFactory(name="R. Teasel")
    build.PersonFactory(name="L. Rush")
    done = loaded(exported(stamp=stamp), data, stamp)
    found = {line.person.name: (line.gross_cents, line.employer_cents) for line in done.lines.all()}
    assert found == {"R. Teasel": (123_450, 0), "L. Rush": (1_200, 305)}


def test_it_takes_the_id_where_two_people_share_a_name(stamp, suspense):
    one, _ = build.PersonFactory(name="R. Teasel"), build.PersonFactory(name="R. Teasel")
    headings = ("person id", "person", "gross", "employer")
    rows = [str(one.public_id), "R. Teasel", "10", "1"]
    done = loaded(exported(stamp=stamp), file(rows, headings=headings), stamp)
    assert done.lines.get().person == one


GOOD = ["L. Rush", "12", "3"]
WRONG = {
    "unknown person": (file(GOOD, ["N. Obody", "1", "2"]), [(3, "person", "unknown")]),
    "no person": (file(GOOD, ["", "1", "2"]), [(3, "person", "required")]),
    "a name that two have": (file(["T. Win", "1", "2"]), [(2, "person", "invalid")]),
    "a volunteer": (file(["V. Free", "1", "2"]), [(2, "person", "invalid")]),
    "twice": (file(GOOD, GOOD), [(3, "person", "duplicate")]),
    "no amount": (file(["L. Rush", "twelve", ""]), [(2, "gross", "invalid"), (2, "employer", "invalid")]),
    "three decimals": (file(["L. Rush", "12.345", "3"]), [(2, "gross", "invalid")]),
    "decimal comma": (file(["L. Rush", "12,5", "3"]), [(2, "gross", "invalid")]),
    "misplaced comma": (file(["L. Rush", "1,23,456.00", "3"]), [(2, "gross", "invalid")]),
    "far too much": (file(["L. Rush", "999999999999", "3"]), [(2, "gross", "invalid")]),
    "too many cells": (file([*GOOD, "x"]), [(2, "file", "invalid")]),
    "no such column": (file(["L. Rush", "12"], headings=("person", "gross")), [(1, "employer", "required")]),
    "a column twice": (
        file([*GOOD, "4"], headings=("name", "gross", "employer", "Gross pay")),
        [(1, "gross", "duplicate")],
    ),
    "no person column": (file(["12", "3"], headings=("gross", "employer")), [(1, "person", "required")]),
    "nothing": (b"", [(None, "file", "invalid")]),
    "headings alone": (file(), [(None, "file", "invalid")]),
    "not text": ("René".encode("latin-1"), [(None, "file", "invalid")]),
    "open quote": (b'person,gross,employer\n"L. Rush,1,2\n', [(None, "file", "invalid")]),
}


@pytest.mark.parametrize(("data", "faults"), WRONG.values(), ids=WRONG)
def test_it_refuses_all_of_a_file_with_a_fault(stamp, suspense, data, faults):
    build.PersonFactory(name="L. Rush")
    build.PersonFactory(name="T. Win")
    build.PersonFactory(name="T. Win")
    build.PersonFactory(name="V. Free", person_type="volunteer")
    done = exported(stamp=stamp)
    with pytest.raises(Invalid) as refusal:
        loaded(done, data, stamp)
    assert [(error.row, error.field, error.code) for error in refusal.value.errors] == faults
    assert not PayrollImport.objects.exists()
    assert not PayrollImportLine.objects.exists()
    assert not LedgerEntry.objects.exists()


def test_it_waits_for_the_hours_to_be_told(stamp):
    build.PersonFactory(name="L. Rush")
    with pytest.raises(WrongState):
        loaded(period(stamp=stamp), file(GOOD), stamp)


def test_it_keeps_pay_out_of_the_record_of_changes(stamp, suspense):
    build.PersonFactory(name="L. Rush")
    loaded(exported(stamp=stamp), file(["L. Rush", "7777.77", "3"]), stamp)
    change = Change.objects.get(verb="payroll_import")
    assert set(change.after or {}) == {"revision", "rows", "file_sha256"}
    assert "777" not in str((change.after or {})["rows"])


def test_it_reconciles_person_by_person(stamp, suspense):
    fund, finance = build.FundFactory(), build.UserFactory(roles=["finance"])
    both, unpaid, extra = (build.PersonFactory(name=name) for name in ("A. Both", "B. Unpaid", "C. Extra"))
    for person in (both, unpaid):
        worked(person, DAY, 480)
        labor(person, 12_000, fund)
    done = exported(stamp=stamp)
    loaded(done, file(["A. Both", "100", "30"], ["C. Extra", "1", "0"]), stamp)
    rows = {row.person: row for row in reconciliation(finance, done)}
    found = {p: (r.told_minutes, r.ledger_cents, r.payroll_cents, r.difference_cents) for p, r in rows.items()}
    assert found == {both: (480, 12_000, 13_000, 1_000), unpaid: (480, 12_000, 0, -12_000), extra: (0, 0, 100, 100)}
    labor(both, 500, fund, day=FIRST)
    moved = Counter(row.person.name for row in reconciliation(finance, done) if row.has_moved)
    assert moved == {"A. Both": 1}
