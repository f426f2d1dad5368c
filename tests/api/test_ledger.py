"""The ledger, read by finance."""

from datetime import date

import pytest

from tests import build
from tests.api.caller import Caller

pytestmark = pytest.mark.django_db


def test_it_lists_what_was_posted_in_its_order(finance):
    first = build.LedgerEntryFactory(amount_cents=12_000)
    back = build.LedgerEntryFactory(amount_cents=-12_000, reverses=first, person=first.person)
    rows = finance.rows("/api/ledger")
    assert [(row["amount_cents"], row["reverses"]) for row in rows] == [(12_000, None), (-12_000, str(first.public_id))]
    assert rows[1]["id"] == str(back.public_id)


def test_it_filters(finance):
    row = build.LedgerEntryFactory(work_date=date(2027, 3, 1), posting_month=date(2027, 3, 1), category="mileage")
    build.LedgerEntryFactory(work_date=date(2027, 2, 1), posting_month=date(2027, 2, 1))
    queries = [
        f"order={row.order.public_id}",
        f"season={row.order.season.public_id}",
        f"site={row.site_code}",
        f"fund={row.fund.code}",
        "category=mileage,equipment",
        "worked_from=2027-03-01",
        "posted_from=2027-03-01&posted_to=2027-03-01",
    ]
    found = [[found["id"] for found in finance.rows(f"/api/ledger?{query}")] for query in queries]
    assert found == [[str(row.public_id)]] * len(queries)
    assert len(finance.rows("/api/ledger?worked_to=2027-02-15")) == 1


@pytest.mark.parametrize("role", ["coordinator", "crew_lead", "pesticide_supervisor"])
def test_it_is_closed_to_everybody_else(role):
    caller = Caller(build.UserFactory(roles=[role]))
    assert [caller.get(path).status_code for path in ("/api/ledger", "/api/reports/costs")] == [403, 403]
