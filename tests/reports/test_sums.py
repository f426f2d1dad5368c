"""Any cut of any report of cost sums to the ledger to the cent, whatever the ledger holds."""

from contextlib import suppress
from itertools import permutations

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orders.costs.models import Commitment, LedgerEntry
from orders.reports.asking import Asked, asked_read
from orders.reports.behind import cell_behind
from orders.reports.catalog import report_table
from orders.reports.cube import DIMENSIONS, cost_cube, dimensions_named
from orders.reports.ledger_tables import ledger_rows
from orders.reports.lines import Line
from orders.reports.unit_costs import CUTS as UNIT_CUTS
from orders.reports.variance import variances
from tests import build
from tests.reports.ledgers import ROWS, cents_of, places_made, row_made

pytestmark = pytest.mark.django_db
PAIRS = st.sampled_from([*((one,) for one in DIMENSIONS), *permutations(DIMENSIONS, 2)])
MONTHS = st.sampled_from([{}, {"month_from": "2027-02"}, {"month_from": "2027-02", "month_to": "2027-02"}])
BASIS = st.sampled_from(["posted", "worked"])
AT_RANDOM = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


class Undone(Exception):
    """Takes the rows of one example away again."""


@pytest.fixture
def finance():
    return build.UserFactory(roles=["finance"])


def _example(rows, check):
    with suppress(Undone), transaction.atomic():
        made = places_made()
        for row in rows:
            row_made(made, row)
        check(made)
        raise Undone


@AT_RANDOM
@given(rows=ROWS, by=PAIRS)
def test_it_cuts_the_cost_report_any_way(finance, rows, by):
    def check(made):
        cube = cost_cube(actor=finance, asked=Asked(), by=by)
        assert cube.total.actual_cents == cents_of(LedgerEntry, book="cost")
        assert cube.total.planned_cents == cents_of(Commitment)
        for place in range(len(by)):
            assert sum(one.actual_cents for one in cube.along(place).values()) == cube.total.actual_cents

    _example(rows, check)


@AT_RANDOM
@given(rows=ROWS, by=PAIRS, months=MONTHS, basis=BASIS)
def test_it_finds_the_rows_behind_every_cell(finance, rows, by, months, basis):
    def check(made):
        asked = asked_read({**months, "basis": basis})
        cube = cost_cube(actor=finance, asked=asked, by=by)
        for keys, figures in cube.cells.items():
            found = cell_behind(actor=finance, asked=asked, cell=dict(zip(by, keys, strict=True)))
            assert found.figures == figures
            assert sum(row.amount_cents for row in found.ledger) == figures.actual_cents
            assert sum(row.amount_cents for row in found.commitments) == figures.planned_cents

    _example(rows, check)


@AT_RANDOM
@given(rows=ROWS, by=st.sampled_from(list(DIMENSIONS)))
def test_it_tells_all_of_the_difference_from_plan(finance, rows, by):
    def check(made):
        found = variances(Asked(), *dimensions_named([by]))
        assert all(why.total_cents == figures.difference_cents for figures, why in found.values())
        together = sum(figures.actual_cents for figures, _ in found.values())
        assert together == cents_of(LedgerEntry, book="cost")
        assert sum(figures.planned_cents for figures, _ in found.values()) == cents_of(Commitment)

    _example(rows, check)


@AT_RANDOM
@given(rows=ROWS, by=st.sampled_from(list(UNIT_CUTS)))
def test_it_holds_all_cost_in_the_unit_costs(finance, rows, by):
    def check(made):
        table = report_table(finance, "unit-cost", {"by": by})
        assert table.total
        assert table.total[1] == sum(row[1] for row in table.rows) == cents_of(LedgerEntry, book="cost")

    _example(rows, check)


@AT_RANDOM
@given(rows=ROWS, by=st.sampled_from(["award", "person_type", "month"]))
def test_it_holds_all_match_and_no_cost(finance, rows, by):
    def check(made):
        table = report_table(finance, "match", {"by": by})
        place = [column.key for column in table.columns].index("value_cents")
        assert sum(row[place] for row in table.rows) == cents_of(LedgerEntry, book="match")

    _example(rows, check)


@AT_RANDOM
@given(rows=ROWS, basis=BASIS)
def test_it_balances_every_account(finance, rows, basis):
    def check(made):
        table = report_table(finance, "trial-balance", {"basis": basis})
        _, _, _, debits, credits, balance = table.total or ()
        assert (debits, balance) == (cents_of(LedgerEntry), 0)
        for row in table.rows:
            assert isinstance(row, Line)
            asked = asked_read({**row.behind, "basis": basis})
            behind = sum(one.amount_cents for one in ledger_rows(asked) if one.debit == asked.account)
            assert behind == row[3]
        assert debits == credits

    _example(rows, check)


@AT_RANDOM
@given(rows=ROWS)
def test_it_lists_every_row_once(finance, rows):
    def check(made):
        ledger = list(report_table(finance, "ledger", {}).rows)
        assert [row[0] for row in ledger] == list(LedgerEntry.objects.order_by("id").values_list("pk", flat=True))
        assert sum(row[6] for row in ledger) == cents_of(LedgerEntry)
        planned = list(report_table(finance, "commitments", {}).rows)
        assert sum(row[3] for row in planned) == cents_of(Commitment)

    _example(rows, check)
