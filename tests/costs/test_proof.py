"""The proof finds what is wrong, names it, is kept, and is told."""

from datetime import date
from decimal import Decimal

import pytest
from django.core import mail
from django.db import connection

from orders import corrections
from orders.costs.digest import rows_digest
from orders.costs.models import LedgerEntry, Period, Proof
from orders.costs.proofs import CHECKS
from orders.costs.services.proof import MOST_FOUND, proof_nightly, proof_run
from orders.supplies.services import stock_move
from tests import build
from tests.costs.month_end import AFTER, FEBRUARY, office_build, posted_again, the_order
from tests.flow.world import WORK_DAY, statement

pytestmark = pytest.mark.django_db


@pytest.fixture
def office():
    return office_build()


def _bad(proof):
    return {result["code"]: result["found"] for result in proof.checks if not result["good"]}


def _forged(**columns):
    """Change rows behind the program's back, as only somebody with the database in hand could."""
    table = LedgerEntry._meta.db_table
    on = f' ON "{table}"' if connection.vendor == "postgresql" else ""
    sets = ", ".join(f"{name} = %s" for name in columns)
    with connection.cursor() as cursor:
        cursor.execute(f'DROP TRIGGER "append_only_{table}_update"{on}')
        cursor.execute(f"UPDATE {table} SET {sets} WHERE id = (SELECT MIN(id) FROM {table})", list(columns.values()))


def test_it_is_good_after_a_close_and_an_amendment(office):
    corrections.amend_close_out(
        order=the_order(),
        statement=statement(the_order(), minutes=200),
        stamp=office.world.stamp(office.world.lead, WORK_DAY, "Miscounted."),
    )
    proof = proof_run(AFTER, office.first)
    assert _bad(proof) == {}
    assert [result["code"] for result in proof.checks] == [one.code for one in CHECKS]
    rows = rows_digest(LedgerEntry.objects.all())
    assert (proof.rows_count, proof.last_row, proof.rows_sha256) == (rows.rows, rows.last_row, rows.sha256)
    assert rows.rows > 0


def test_it_is_good_of_an_empty_ledger(db):
    assert proof_run(AFTER).is_good


def test_it_is_kept_each_time(office):
    proof_run(AFTER)
    proof_run(AFTER)
    assert Proof.objects.count() == 2


def test_it_finds_a_cost_that_is_posted_twice(office):
    posted_again(LedgerEntry.objects.filter(category="labor").earliest("id"))
    assert {"labor-minutes", "labor-money"} >= set(_bad(proof_run(AFTER))) >= {"labor-minutes"}


def test_it_finds_an_amount_that_was_changed(office):
    _forged(amount_cents=1)
    assert set(_bad(proof_run(AFTER))) >= {"labor-money"}


def test_it_finds_a_strange_account(office):
    _forged(debit="cost-material")
    assert set(_bad(proof_run(AFTER))) >= {"accounts"}


def test_it_finds_a_reversal_that_is_not_the_opposite(office):
    row = LedgerEntry.objects.filter(category="labor").earliest("id")
    posted_again(row, reverses=row, amount_cents=-1, quantity=-row.quantity)
    assert "reversals" in _bad(proof_run(AFTER))


def test_it_finds_a_reversal_that_is_taken_back(office):
    row = LedgerEntry.objects.filter(category="labor").earliest("id")
    back = posted_again(row, reverses=row, amount_cents=-row.amount_cents, quantity=-row.quantity)
    posted_again(back, reverses=back, amount_cents=-back.amount_cents, quantity=-back.quantity)
    assert "reversed-once" in _bad(proof_run(AFTER))


def test_it_finds_a_posting_of_a_close_out_that_does_not_stand(office):
    posted_again(LedgerEntry.objects.filter(category="labor").earliest("id"), revision=9)
    assert "close-outs" in _bad(proof_run(AFTER))


def test_it_finds_a_row_in_a_closed_month(office):
    office.closed()
    row = LedgerEntry.objects.filter(category="labor").earliest("id")
    posted_again(row, posting_month=FEBRUARY)
    assert len(_bad(proof_run(AFTER))["closed-months"]) >= 2


def test_it_finds_a_row_that_was_changed_in_a_closed_month(office):
    office.closed()
    _forged(crew_name="Another crew")
    found = _bad(proof_run(AFTER))["closed-months"]
    assert found == [f"February 2027: {Period.objects.get().rows_count} rows when it was closed, "
                     f"{Period.objects.get().rows_count} now"]  # fmt: skip


def test_it_finds_shares_that_do_not_sum_to_the_whole(office):
    build.OrderFundingFactory(order=the_order(), share_e4=1)
    assert "10001 of 10000" in _bad(proof_run(AFTER))["funding-shares"][0]


def test_it_finds_a_posting_month_that_is_a_day(office):
    _forged(posting_month=date(2027, 2, 3))
    assert "posting-months" in _bad(proof_run(AFTER))


def test_it_names_twenty_at_most(office):
    for _ in range(MOST_FOUND + 1):
        posted_again(LedgerEntry.objects.filter(category="labor").earliest("id"), revision=9)
    result = next(one for one in proof_run(AFTER).checks if one["code"] == "close-outs")
    assert (len(result["found"]), result["more"]) == (MOST_FOUND, True)


def test_it_values_the_stock_that_waited(office):
    stock_move(
        lot=build.StockLotFactory(),
        kind="write_off",
        amount=Decimal(1),
        unit="L",
        on=WORK_DAY,
        reason="frozen",
        stamp=office.world.stamp(office.world.lead, WORK_DAY),
    )
    assert _bad(proof_run(AFTER)) == {}
    assert LedgerEntry.objects.filter(source_kind="stock_value", book="cost", category="material").exists()


def test_it_mails_finance_of_a_bad_one_alone(office):
    proof_nightly(clock=lambda: AFTER)
    assert mail.outbox == []
    build.OrderFundingFactory(order=the_order(), share_e4=1)
    proof = proof_nightly(clock=lambda: AFTER)
    (letter,) = mail.outbox
    assert letter.to == ["finance@example.org", "second@example.org"]
    assert str(proof.public_id) in letter.extra_headers["Message-ID"]
    assert "sums to the whole: not so (1 found)" in letter.body
