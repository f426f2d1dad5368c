"""A row of the report opened: the ledger rows behind it, and their sum."""

import re

import pytest
from django.urls import reverse

from orders.desk.templatetags.desk import money
from orders.reports.costs import CUTS, cost_report
from tests import build
from tests.desk.pages.books import parents

pytestmark = pytest.mark.django_db
ADDRESS = reverse("cost-rows")


def _foot(page, table):
    [inside] = re.findall(rf'<table id="{table}">.*?<tfoot>(.*?)</tfoot>', page.content.decode(), re.DOTALL)
    return re.findall(r"<td.*?>(.*?)</td>", inside)[-1]


@pytest.mark.parametrize("by", CUTS)
def test_it_sums_to_the_row_that_was_opened(as_finance, finance, books, by):
    for row in cost_report(actor=finance, by=by).rows:
        page = as_finance.get(ADDRESS, {"by": by, "key": row.key})
        shown = page.content.decode()
        assert f"<dd>{money(row.planned_cents)}</dd>" in shown
        assert f"<dd>{money(row.actual_cents)}</dd>" in shown
        assert not page.context["ledger"] or _foot(page, "ledger") == money(row.actual_cents)
        assert sum(entry.amount_cents for entry in page.context["ledger"]) == row.actual_cents
        assert sum(entry.amount_cents for entry in page.context["commitments"]) == row.planned_cents


def test_it_shows_what_a_row_was_made_of(as_finance, books):
    page = as_finance.get(ADDRESS, {"key": "EAST"}).content.decode()
    assert "16.9 fl oz (500 mL)" in page
    assert "$113.56/gal ($30.00/L)" in page
    assert "Nothing was planned here" in page


def test_it_marks_a_reversal_with_its_reason(as_finance, books):
    page = as_finance.get(ADDRESS, {"key": "NORTH"}).content.decode()
    assert "<strong>Reversal</strong>: Typed twice" in page
    assert "−$9.99" in page


def test_it_leads_back_to_the_report_as_it_was(as_finance, books):
    asked = {"by": "fund", "q": "gr", "sort": "-actual", "key": "GRANT"}
    page = as_finance.get(ADDRESS, asked).content.decode()
    assert f"{reverse('cost-report')}?by=fund&amp;q=gr&amp;sort=-actual" in page


def test_it_turns_pages_and_still_sums_all(as_finance, books):
    shared = parents(books.season)
    for _ in range(130):
        build.LedgerEntryFactory(**shared, site_code="MANY", fund=books.city, amount_cents=101)
    first = as_finance.get(ADDRESS, {"key": "MANY"})
    second = as_finance.get(ADDRESS, {"key": "MANY", "page": 2})
    assert (len(first.context["ledger"]), len(second.context["ledger"])) == (100, 30)
    assert _foot(first, "ledger") == _foot(second, "ledger") == "$131.30"
    assert "key=MANY&amp;page=2" in first.content.decode()


@pytest.mark.parametrize("key", ["WEST", "NORTH' OR '1'='1"])
def test_it_does_not_know_a_row_that_the_report_does_not_have(as_finance, books, key):
    assert as_finance.get(ADDRESS, {"key": key}).status_code == 404


@pytest.mark.parametrize("asked", [{}, {"key": "NORTH", "page": "0"}, {"key": "NORTH", "by": "x"}, {"key": "\0"}])
def test_it_names_what_is_wrong_with_an_address(as_finance, books, asked):
    assert as_finance.get(ADDRESS, asked).status_code == 400


@pytest.mark.parametrize(("role", "status"), [("administrator", 200), ("coordinator", 403), ("crew_lead", 403)])
def test_it_opens_by_role(client, books, role, status):
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get(ADDRESS, {"key": "NORTH"}).status_code == status


def test_it_asks_the_database_as_often_for_many_rows_as_for_few(
    as_finance, books, django_assert_num_queries, django_assert_max_num_queries
):
    with django_assert_max_num_queries(14) as few:
        as_finance.get(ADDRESS, {"key": "NORTH"})
    shared = parents(books.season)
    for _ in range(20):
        build.LedgerEntryFactory(**shared, site_code="NORTH", fund=build.FundFactory())
    with django_assert_num_queries(len(few.captured_queries)):
        as_finance.get(ADDRESS, {"key": "NORTH"})
