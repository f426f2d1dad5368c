"""Budgets, by row and by file, and what is left to spend."""

import pytest

from orders.costs.models import Budget
from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


@pytest.fixture
def body():
    return {"fund": str(build.FundFactory(code="OPS").public_id), "category": "labor", "amount_cents": 5_000}


def test_it_adds_shows_changes_and_removes_a_budget(finance, body):
    made = finance.send("/api/budgets", body)
    assert made.status_code == 201, made.json()
    where = made.headers["Location"]
    shown = finance.get(where)
    changed = finance.edit(where, {"amount_cents": 7_000, "category": ""}, etag=shown.headers["ETag"])
    assert (changed.json()["amount_cents"], changed.json()["category"]) == (7_000, "")
    assert finance.send(f"{where}/remove", {"reason": "Not needed"}).json()["amount_cents"] == 7_000
    assert not Budget.objects.exists()


@pytest.mark.parametrize(
    ("more", "field"),
    [({"amount_cents": -1}, "amount_cents"), ({"month": "2027-03-02"}, "month"), ({"category": "wine"}, "category")],
)
def test_it_names_what_is_wrong(finance, body, more, field):
    reply = finance.send("/api/budgets", {**body, **more})
    assert (reply.status_code, error_fields(reply)) == (400, [field])


def test_it_reads_a_file_and_writes_it_again(finance, body):
    text = "fund,award,site,category,month,amount,note\r\nOPS,,,labor,2027-03,1250.00,Spring\r\n"
    assert finance.send("/api/budgets/csv", {"csv": text}).json() == {"loaded": 1}
    reply = finance.get("/api/budgets/csv?format=csv")
    assert reply["Content-Type"].startswith("text/csv")
    assert reply.content.decode() == text


def test_it_tells_of_a_file_by_row_and_column(finance, body):
    reply = finance.send("/api/budgets/csv", {"csv": "fund,amount\nOPS,1\nNO,2\n"})
    assert reply.json()["errors"][0]["row"] == 2
    assert (error_fields(reply), Budget.objects.count()) == (["fund"], 0)


def test_it_tells_what_is_left(finance):
    fund = build.FundFactory(code="OPS", budget_cents=50_000)
    build.LedgerEntryFactory(fund=fund, amount_cents=20_000)
    (row,) = finance.get("/api/spending").json()["rows"]
    assert (row["fund"], row["limit_cents"], row["actual_cents"], row["left_cents"]) == ("OPS", 50_000, 20_000, 30_000)
