"""Reports as pages: who may read them, their figures, their ways on, and the rows behind them."""

import re

import pytest
from django.urls import reverse

from orders.desk.templatetags.desk import money
from orders.reports.catalog import REPORTS, report_table
from tests import build
from tests.desk.pages.books import parents

pytestmark = pytest.mark.django_db
COST = reverse("report", args=["cost"])
ROWS = reverse("report-rows", args=["cost"])


def _cells(page, table, part):
    [inside] = re.findall(rf'<table id="{table}".*?>.*?<{part}>(.*?)</{part}>', page.content.decode(), re.DOTALL)
    rows = re.findall(r"<tr>(.*?)</tr>", inside, re.DOTALL)
    return [[re.sub(r"<.*?>", "", cell).strip() for cell in re.findall(r"<t[hd].*?>.*?</t[hd]>", row)] for row in rows]


@pytest.mark.parametrize("role", ["finance", "administrator", "coordinator", "crew_lead"])
@pytest.mark.parametrize("name", ["reports", *REPORTS])
def test_it_opens_by_role(client, books, name, role):
    client.force_login(build.UserFactory(roles=[role]))
    address = reverse("reports") if name == "reports" else reverse("report", args=[name])
    opens = role in {"finance", "administrator"} or (name, role) == ("accuracy", "coordinator")
    assert client.get(address).status_code == (200 if opens else 403)


def test_it_lists_every_report_with_what_it_answers(as_finance):
    page = as_finance.get(reverse("reports")).content.decode()
    assert all(f'href="{reverse("report", args=[code])}"' in page for code in REPORTS)


def test_it_shows_the_table_of_the_report(as_finance, finance, books):
    page = as_finance.get(COST, {"by": "site"})
    table = report_table(finance, "cost", {"by": "site"})
    assert [row[:3] for row in _cells(page, "report", "tbody")] == [
        [site, money(planned), money(actual)] for site, planned, actual, *_ in table.rows
    ]
    assert _cells(page, "report", "tfoot")[0][:3] == ["Total", "$700.05", "$612.41"]


def test_it_lays_two_cuts_out_in_rows_and_columns(as_finance, books):
    page = as_finance.get(COST, {"by": "site", "and": "fund"})
    assert _cells(page, "crossed", "tbody")[1] == ["NORTH", "$612.34", "$0.00", "$612.34"]
    assert _cells(page, "crossed", "tfoot") == [["Total", "$612.34", "$0.07", "$612.41"]]


def test_it_leaves_columns_that_do_not_fit_to_the_long_list(as_finance, books):
    shared = parents(books.season)
    for number in range(9):
        build.LedgerEntryFactory(**shared, site_code=f"S{number}")
    page = as_finance.get(COST, {"by": "fund", "and": "site"}).content.decode()
    assert 'id="crossed"' not in page


def test_it_tells_what_has_no_order_by_a_plain_word(as_finance, books):
    nowhere = {"order": None, "visit": None, "order_number": None, "site_code": "", "crew_name": ""}
    build.LedgerEntryFactory(**nowhere, fund=books.city, amount_cents=55)
    page = as_finance.get(COST, {"by": "order"})
    assert _cells(page, "report", "tbody")[-1][0] == "No order"
    behind = as_finance.get(ROWS, {"by": "order", "key": ""})
    assert [row.amount_cents for row in behind.context["ledger"]] == [55]


def test_it_sorts_and_says_so(as_finance, books):
    page = as_finance.get(COST, {"by": "site", "sort": "-actual_cents"})
    assert [row[0] for row in _cells(page, "report", "tbody")] == ["NORTH", "EAST", "SOUTH"]
    assert 'aria-sort="descending"' in page.content.decode()


def test_it_hands_its_question_to_files_views_and_schedules(as_finance, books):
    page = as_finance.get(COST, {"by": "site", "fund": "CITY", "sort": "-actual_cents"}).content.decode()
    words = "by=site&amp;fund=CITY&amp;sort=-actual_cents"
    assert f'name="query" value="{words}"' in page
    assert f"{reverse('view-save')}?report=cost&amp;{words}" in page
    assert f"{reverse('schedule-new')}?report=cost&amp;{words}" in page


def test_it_opens_a_figure_to_the_rows_that_it_is_made_of(as_finance, books):
    page = as_finance.get(COST, {"by": "site", "and": "fund"}).content.decode()
    assert f"{ROWS}?by=site&amp;and=fund&amp;key=NORTH&amp;and_key=CITY" in page
    behind = as_finance.get(ROWS, {"by": "site", "key": "NORTH", "and": "fund", "and_key": "CITY"})
    assert [row.amount_cents for row in behind.context["ledger"]] == [61_234]
    assert f"{COST}?by=site&amp;and=fund" in behind.content.decode()


def test_it_turns_the_pages_of_the_ledger(as_finance, books):
    shared = parents(books.season)
    build.LedgerEntryFactory.create_batch(110, **shared, fund=books.city)
    first, second = (as_finance.get(reverse("report", args=["ledger"]), {"page": page}) for page in (1, 2))
    assert (len(_cells(first, "report", "tbody")), len(_cells(second, "report", "tbody"))) == (100, 14)


@pytest.mark.parametrize(
    ("asked", "status"),
    [
        ({"by": "luck"}, 400),
        ({"by": "site", "and": "site"}, 400),
        ({"month_from": "soon"}, 400),
        ({"sort": "luck"}, 400),
        ({"season": "x"}, 400),
        ({"page": "0"}, 400),
    ],
)
def test_it_names_what_is_wrong_with_an_address(as_finance, books, asked, status):
    page = as_finance.get(COST, asked)
    assert page.status_code == status
    assert f"<strong>{list(asked)[-1]}</strong>" in page.content.decode()


@pytest.mark.parametrize("address", ["/money/reports/luck/", "/money/reports/luck/rows/"])
def test_it_knows_no_other_report(as_finance, address):
    assert as_finance.get(address).status_code == 404


def test_it_says_what_to_do_where_there_is_nothing(as_finance, books):
    assert "Match appears when a crew closes" in as_finance.get(reverse("report", args=["match"])).content.decode()
    assert "No row fits" in as_finance.get(COST, {"month_from": "2031-01"}).content.decode()


@pytest.mark.parametrize("code", ["cost", "variance", "unit-cost", "trial-balance", "ledger", "commitments"])
def test_it_asks_the_database_as_often_for_many_rows_as_for_few(
    as_finance, books, code, django_assert_num_queries, django_assert_max_num_queries
):
    address = reverse("report", args=[code])
    with django_assert_max_num_queries(30) as few:
        as_finance.get(address)
    shared = parents(books.season)
    for number in range(12):
        build.LedgerEntryFactory(**shared, patch_code=f"P-{number}", fund=build.FundFactory())
        build.CommitmentFactory(**shared, patch_code=f"P-{number}", fund=build.FundFactory())
    with django_assert_num_queries(len(few.captured_queries)):
        as_finance.get(address)
