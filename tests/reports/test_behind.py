"""The rows behind a row of the report add up to it, whichever way it is cut."""

import pytest

from orders.common.errors import Invalid, NotFound, RoleMissing
from orders.reports.behind import rows_behind
from orders.reports.costs import CUTS, cost_report
from tests import build
from tests.desk.pages.books import books_made

pytestmark = pytest.mark.django_db


@pytest.fixture
def finance():
    return build.UserFactory(roles=["finance"])


@pytest.mark.parametrize("by", CUTS)
def test_it_adds_up_to_every_row_of_every_cut(finance, by):
    books_made()
    report = cost_report(actor=finance, by=by)
    found = [rows_behind(actor=finance, by=by, key=row.key) for row in report.rows]
    assert [behind.row for behind in found] == list(report.rows)
    assert sum(entry.amount_cents for behind in found for entry in behind.ledger) == 61_241
    assert sum(entry.amount_cents for behind in found for entry in behind.commitments) == 70_005


def test_it_keeps_to_the_season_and_the_fund_asked_for(finance):
    books = books_made()
    whole = rows_behind(actor=finance, by="fund", key="GRANT")
    part = rows_behind(actor=finance, by="site", key="NORTH", season=books.season, fund=books.grant.public_id)
    assert (whole.row.planned_cents, whole.row.actual_cents) == (20_005, 7)
    assert [entry.amount_cents for entry in part.ledger] == [999, -999]


@pytest.mark.parametrize(("by", "key"), [("order", "x"), ("order", "9" * 30), ("month", "soon"), ("site", "WEST")])
def test_it_says_that_there_is_nothing(finance, by, key):
    books_made()
    with pytest.raises(NotFound):
        rows_behind(actor=finance, by=by, key=key)


def test_it_refuses_an_unknown_cut(finance):
    with pytest.raises(Invalid, match="cut that way"):
        rows_behind(actor=finance, by="weather", key="rain")


def test_it_is_open_to_finance_only():
    with pytest.raises(RoleMissing):
        rows_behind(actor=build.UserFactory(roles=["coordinator"]), by="site", key="NORTH")
