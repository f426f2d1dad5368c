"""The cost report, as JSON and as CSV."""

import csv
import io

import pytest

from orders.reports.costs import CUTS
from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def rows():
    order = build.WorkOrderFactory(number=1)
    build.CommitmentFactory(order=order, amount_cents=10_050, minutes=300)
    return [build.LedgerEntryFactory(order=order, amount_cents=cents, quantity=240) for cents in (12_000, 35)]


@pytest.mark.parametrize("by", CUTS)
def test_it_has_the_same_total_whichever_way_it_is_cut(finance, by):
    told = finance.get(f"/api/reports/costs?by={by}").json()
    total = told["total"]
    assert (total["planned_cents"], total["actual_cents"], total["difference_cents"]) == (10_050, 12_035, 1_985)
    assert (total["planned_minutes"], total["actual_minutes"]) == (300, 480)
    assert sum(row["actual_cents"] for row in told["rows"]) == 12_035


def _table(reply):
    return list(csv.reader(io.StringIO(reply.content.decode(), newline="")))


def test_it_is_the_same_as_csv(finance):
    reply = finance.get("/api/reports/costs?by=order&format=csv")
    assert reply.headers["Content-Type"] == "text/csv; charset=utf-8; header=present"
    assert reply.headers["Content-Disposition"] == 'attachment; filename="costs-by-order.csv"'
    table = _table(reply)
    assert table[0] == ["Work order", "planned", "actual", "difference", "planned hours", "actual hours"]
    assert table[1:] == [
        ["1", "100.50", "120.35", "19.85", "5.00", "8.00"],
        ["Total", "100.50", "120.35", "19.85", "5.00", "8.00"],
    ]
    assert reply.content.count(b"\r\n") == 3


def test_it_is_csv_for_who_accepts_csv(finance):
    reply = finance.get("/api/reports/costs?by=site", headers={"Accept": "text/csv"})
    assert reply.headers["Content-Type"].startswith("text/csv")


def test_it_lets_the_address_decide_before_the_header(finance):
    reply = finance.get("/api/reports/costs?format=json", headers={"Accept": "text/csv"})
    assert reply.json()["by"] == "order"


def test_it_reports_one_season(finance, rows):
    build.LedgerEntryFactory(amount_cents=99)
    season = rows[0].order.season.public_id
    assert finance.get(f"/api/reports/costs?season={season}").json()["total"]["actual_cents"] == 12_035


def test_it_knows_no_other_season(finance, rows):
    reply = finance.get(f"/api/reports/costs?season={rows[0].public_id}")
    assert reply.status_code == 404


@pytest.mark.parametrize(
    ("query", "field"),
    [("by=moon", "by"), ("format=pdf", "format"), ("season=2027", "season"), ("sort=key", "sort"), ("by=", "by")],
)
def test_it_names_what_it_cannot_do_in_json(finance, query, field):
    reply = finance.get(f"/api/reports/costs?{query}", headers={"Accept": "text/csv"})
    assert (reply.status_code, error_fields(reply)) == (400, [field])
    assert reply.headers["Content-Type"] == "application/problem+json"
