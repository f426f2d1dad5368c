"""Each report as rows with named cells."""

import pytest

from orders.reports.catalog import REPORTS
from tests import build
from tests.api.caller import Caller, error_fields
from tests.desk.pages.books import books_made

pytestmark = pytest.mark.django_db
SHOWN = [report.code for report in REPORTS.values() if not report.has_own_address]


@pytest.mark.parametrize("code", SHOWN)
def test_it_answers_each_report(finance, code):
    books_made()
    told = finance.get(f"/api/reports/{code}").json()
    keys = [column["key"] for column in told["columns"]]
    assert all(list(row) == keys for row in told["rows"])
    assert told["next_page"] is None


@pytest.mark.parametrize("code", SHOWN)
def test_it_sums_the_columns_that_say_so(finance, code):
    books_made()
    told = finance.get(f"/api/reports/{code}").json()
    summed = [column["key"] for column in told["columns"] if column["total"]] if told["total"] else []
    assert [told["total"][key] for key in summed] == [sum(row[key] or 0 for row in told["rows"]) for key in summed]


def test_it_cuts_twice_and_narrows(finance):
    books = books_made()
    told = finance.get(f"/api/reports/cost?by=site&and=fund&season={books.season.public_id}&fund=CITY").json()
    assert [(row["site"], row["fund"], row["actual_cents"]) for row in told["rows"]] == [("NORTH", "CITY", 61_234)]
    assert told["told"][1] == "Fund: Fund CITY."


def test_it_turns_pages(finance, monkeypatch):
    monkeypatch.setattr("orders.api.report_tables.ROWS_A_PAGE", 3)
    books_made()
    first, second = (finance.get(f"/api/reports/ledger?page={page}").json() for page in (1, 2))
    assert (len(first["rows"]), first["next_page"]) == (3, 2)
    assert (len(second["rows"]), second["next_page"]) == (1, None)
    assert first["rows"][-1]["number"] < second["rows"][0]["number"]


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("by=moon", "by"),
        ("by=site&and=site", "and"),
        ("by=", "by"),
        ("month_from=2027", "month_from"),
        ("month_from=2027-03&month_to=2027-02", "month_to"),
        ("season=x", "season"),
        ("category=luck", "category"),
        ("page=0", "page"),
        ("sort=key", "sort"),
    ],
)
def test_it_names_what_it_cannot_do(finance, query, field):
    reply = finance.get(f"/api/reports/cost?{query}")
    assert (reply.status_code, error_fields(reply)) == (400, [field])


@pytest.mark.parametrize("query", ["fund=NONE", "award=NONE"])
def test_it_does_not_know_funds_that_are_not_there(finance, query):
    assert finance.get(f"/api/reports/cost?{query}").status_code == 404


def test_it_is_finances_alone(db):
    outsider = Caller(build.UserFactory(roles=["coordinator"]))
    assert outsider.get("/api/reports/cost").status_code == 403
