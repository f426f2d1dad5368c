"""Funds and awards."""

import pytest

from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


def test_it_adds_a_fund(finance, desk):
    reply = finance.send("/api/funds", {"code": "OPS", "name": "Operations", "budget_cents": 5_000_000})
    assert (reply.status_code, reply.json()["is_suspense"]) == (201, False)
    assert [row["code"] for row in desk.rows("/api/funds")] == ["OPS"]


def test_it_holds_one_suspense_fund(finance):
    build.FundFactory(is_suspense=True)
    reply = finance.send("/api/funds", {"code": "S2", "name": "Second", "is_suspense": True})
    assert (reply.status_code, error_fields(reply)) == (400, ["is_suspense"])


def test_it_takes_a_code_once(finance):
    build.FundFactory(code="OPS")
    assert error_fields(finance.send("/api/funds", {"code": "OPS", "name": "Again"})) == ["code"]


def _award(fund, **more):
    days = {"first_day": "2027-01-01", "last_day": "2027-12-31"}
    return {"fund": str(fund.public_id), "code": "G-1", "name": "Grant", "ceiling_cents": 900, **days, **more}


def test_it_adds_an_award_to_a_fund(finance, desk):
    fund = build.FundFactory(code="GRANTS")
    reply = finance.send("/api/awards", _award(fund))
    assert (reply.status_code, reply.json()["fund"]["code"]) == (201, "GRANTS")
    assert len(desk.rows(f"/api/awards?fund={fund.public_id}")) == 1
    assert desk.rows("/api/awards?code=G-2") == []


def test_it_refuses_an_award_that_ends_before_it_begins(finance):
    body = _award(build.FundFactory(), last_day="2026-12-31")
    assert error_fields(finance.send("/api/awards", body)) == ["last_day"]


@pytest.mark.parametrize("path", ["/api/funds", "/api/awards"])
def test_it_lets_nobody_but_finance_add(desk, lead, path):
    assert [caller.send(path).status_code for caller in (desk, lead)] == [403, 403]
