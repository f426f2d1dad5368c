"""The cost report as a page: who may read it, and that its figures are the report's, which are the ledger's."""

import re

import pytest
from django.urls import reverse

from orders.costs.models import Commitment, LedgerEntry
from orders.desk.templatetags.desk import money
from orders.reports.costs import CUTS, cost_report
from orders.reports.cube import DIMENSIONS, names_of
from tests import build
from tests.desk.pages.books import parents

pytestmark = pytest.mark.django_db
ADDRESS = reverse("cost-report")


def cells(page, part):
    """The text of each cell of the cost table's head, body or foot, row by row."""
    [inside] = re.findall(rf"<{part}>(.*?)</{part}>", page.content.decode(), re.DOTALL)
    rows = re.findall(r"<tr>(.*?)</tr>", inside, re.DOTALL)
    texts = [re.findall(r"<t[hd].*?>(.*?)</t[hd]>", row, re.DOTALL) for row in rows]
    return [[re.sub(r"<.*?>", "", text).strip() for text in row] for row in texts]


@pytest.mark.parametrize(("role", "status"), [("finance", 200), ("administrator", 200), ("coordinator", 403)])
def test_it_opens_by_role(client, role, status):
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get(ADDRESS).status_code == status


def test_it_tells_an_outsider_nothing(client, crew_lead, books):
    client.force_login(crew_lead)
    page = client.get(ADDRESS)
    assert page.status_code == 403
    assert "Winter" not in page.content.decode()


def test_it_asks_for_a_login(client):
    assert client.get(ADDRESS, {"by": "fund"}).url == f"{reverse('login')}?next={ADDRESS}%3Fby%3Dfund"


@pytest.mark.parametrize("by", CUTS)
def test_it_shows_the_report_whichever_way_it_is_cut(as_finance, finance, books, by):
    page = as_finance.get(ADDRESS, {"by": by})
    report = cost_report(actor=finance, by=by)
    names = names_of(DIMENSIONS[by])
    called = [f"{names[row.key]}{row.key}" if row.key in names else row.key for row in report.rows]
    assert [row[:3] for row in cells(page, "tbody")] == [
        [first, money(row.planned_cents), money(row.actual_cents)]
        for first, row in zip(called, report.rows, strict=True)
    ]


@pytest.mark.parametrize("by", CUTS)
def test_it_totals_the_ledger_to_the_cent(as_finance, books, by):
    planned = sum(row.amount_cents for row in Commitment.objects.all())
    actual = sum(row.amount_cents for row in LedgerEntry.objects.all())
    foot = cells(as_finance.get(ADDRESS, {"by": by}), "tfoot")
    assert foot == [["Total", money(planned), money(actual), money(actual - planned), "11.50", "11.67"]]


def test_it_keeps_to_a_season_and_a_fund(as_finance, books):
    page = as_finance.get(ADDRESS, {"season": books.season.public_id, "fund": books.city.public_id})
    assert cells(page, "tfoot")[0][1:3] == ["$500.00", "$612.34"]
    assert "One fund: Fund CITY." in page.content.decode()


def test_it_shows_rows_that_hold_a_text_and_says_what_all_of_them_are(as_finance, books):
    page = as_finance.get(ADDRESS, {"q": "th"})
    assert [row[0] for row in cells(page, "tbody")] == ["NORTH", "SOUTH"]
    assert cells(page, "tfoot")[0][:3] == ["Total shown", "$700.05", "$612.34"]
    assert "2 of 3 rows are shown" in page.content.decode()
    assert "$612.41" in page.content.decode()


def test_it_sorts_by_a_column_and_says_so(as_finance, books):
    page = as_finance.get(ADDRESS, {"sort": "-actual"})
    assert [row[0] for row in cells(page, "tbody")] == ["NORTH", "EAST", "SOUTH"]
    assert page.content.decode().count("aria-sort=") == 1
    assert 'aria-sort="descending"' in page.content.decode()


def test_it_keeps_its_state_in_every_link(as_finance, books):
    page = as_finance.get(ADDRESS, {"season": books.season.public_id, "q": "nor", "sort": "-actual"})
    season = f"season={books.season.public_id}"
    text = page.content.decode()
    assert f"{reverse('cost-report-file', args=['csv'])}?{season}&amp;q=nor&amp;sort=-actual" in text
    assert f"{reverse('cost-rows')}?{season}&amp;q=nor&amp;sort=-actual&amp;key=NORTH" in text
    assert f"{ADDRESS}?by=fund&amp;{season}&amp;sort=-actual" in text
    assert f"{ADDRESS}?{season}&amp;q=nor&amp;sort=actual" in text


@pytest.mark.parametrize(
    "asked", [{"by": "weather"}, {"season": "soon"}, {"fund": "7"}, {"sort": "luck"}, {"q": "\0"}, {"q": "x" * 201}]
)
def test_it_names_what_is_wrong_with_an_address(as_finance, books, asked):
    page = as_finance.get(ADDRESS, asked)
    assert page.status_code == 400
    assert f"<strong>{next(iter(asked))}</strong>" in page.content.decode()


def test_it_says_what_to_do_where_there_is_nothing(as_finance, books):
    empty = build.SeasonFactory(name="Next year")
    page = as_finance.get(ADDRESS, {"season": empty.public_id}).content.decode()
    assert "Planned cost appears here when a work order is issued" in page
    assert "Show all seasons and funds" in page


def test_it_says_that_no_row_holds_the_text(as_finance, books):
    page = as_finance.get(ADDRESS, {"q": "<west>"}).content.decode()
    assert "No row holds “&lt;west&gt;”" in page


def test_it_draws_the_rows_of_the_table(as_finance, books):
    page = as_finance.get(ADDRESS).content.decode()
    picture = page[page.index("<svg") : page.index("</svg>")]
    assert "Planned and actual cost by site</title>" in picture
    assert all(word in picture for word in (">NORTH<", ">SOUTH<", ">EAST<", ">$500<", ">$612<"))


def test_it_is_kept_by_no_browser(as_finance, books):
    assert "no-store" in as_finance.get(ADDRESS)["Cache-Control"]


def test_it_reads_only(as_finance):
    assert as_finance.post(ADDRESS).status_code == 405


def test_it_asks_the_database_as_often_for_many_rows_as_for_few(
    as_finance, books, django_assert_num_queries, django_assert_max_num_queries
):
    with django_assert_max_num_queries(10) as few:
        as_finance.get(ADDRESS, {"by": "patch"})
    shared = parents(books.season)
    for number in range(30):
        build.LedgerEntryFactory(**shared, patch_code=f"P-{number}", fund=books.city)
    with django_assert_num_queries(len(few.captured_queries)):
        as_finance.get(ADDRESS, {"by": "patch"})


def test_it_calls_methods_by_their_names(client, finance, books):
    method = build.MethodFactory()
    build.CommitmentFactory(**parents(books.season), method_code=method.code)
    client.force_login(finance)
    page = client.get(ADDRESS, {"by": "method"})
    assert method.name in "".join(row[0] for row in cells(page, "tbody"))
