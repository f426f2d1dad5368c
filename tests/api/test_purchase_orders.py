"""Purchase orders and bills by the API."""

import pytest

from orders.costs.models import Commitment, LedgerEntry
from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db
KEY = "the-same-bill-sent-twice"


@pytest.fixture
def fund():
    build.FundFactory(code="SUSPENSE", is_suspense=True)
    return build.FundFactory(code="CITY", budget_cents=None)


def line(fund, **more):
    return {
        "category": "contract",
        "description": "Clearing",
        "amount_cents": 12_550,
        "fund": str(fund.public_id),
        **more,
    }


def ordered(finance, fund, **more):
    vendor = str(build.VendorFactory().public_id)
    reply = finance.send("/api/purchase-orders", {"vendor": vendor, "ordered_on": "2027-02-01", "lines": [line(fund)]})
    return reply.json() | {"vendor_id": vendor}


def bill(vendor, lines, **more):
    days = {"billed_on": "2027-02-05", "worked_on": "2027-02-01"}
    return {"vendor": vendor, "number": "B-7", "total_cents": 12_550, "lines": lines, **days, **more}


def test_it_drafts_approves_and_closes(finance, fund):
    made = ordered(finance, fund)
    assert (made["number"], made["state"], made["total_cents"]) == (1, "draft", 12_550)
    address = f"/api/purchase-orders/{made['id']}"
    approved = finance.send(f"{address}/approve").json()
    assert (approved["state"], approved["lines"][0]["committed_cents"]) == ("approved", 12_550)
    closed = finance.send(f"{address}/close").json()
    assert (closed["state"], closed["lines"][0]["committed_cents"]) == ("closed", 0)


@pytest.mark.parametrize(("quantity", "kept"), [("2", "2.000"), ("0.125", "0.125")])
def test_it_takes_a_quantity(finance, fund, quantity, kept):
    vendor = str(build.VendorFactory().public_id)
    lines = [line(fund, quantity=quantity, unit="day")]
    reply = finance.send("/api/purchase-orders", {"vendor": vendor, "ordered_on": "2027-02-01", "lines": lines})
    assert (reply.status_code, reply.json()["lines"][0]["quantity"]) == (201, kept)


def test_it_refuses_a_finer_quantity(finance, fund):
    vendor = str(build.VendorFactory().public_id)
    lines = [line(fund, quantity="0.1255")]
    reply = finance.send("/api/purchase-orders", {"vendor": vendor, "ordered_on": "2027-02-01", "lines": lines})
    assert (reply.status_code, error_fields(reply)) == (400, ["lines[0].quantity"])


def test_it_takes_its_purchase_order_down_by_a_bill(finance, fund):
    made = ordered(finance, fund)
    finance.send(f"/api/purchase-orders/{made['id']}/approve")
    lines = [line(fund, purchase_line=made["lines"][0]["id"])]
    reply = finance.send("/api/bills", bill(made["vendor_id"], lines, purchase_order=made["id"]))
    assert reply.status_code == 201
    approved = finance.send(f"/api/bills/{reply.json()['id']}/approve")
    assert approved.json()["state"] == "approved"
    assert sum(Commitment.objects.values_list("amount_cents", flat=True)) == 0
    assert LedgerEntry.objects.get().amount_cents == 12_550


def test_it_pays_and_voids_a_bill(finance, fund):
    vendor = str(build.VendorFactory().public_id)
    made = finance.send("/api/bills", bill(vendor, [line(fund)])).json()
    address = f"/api/bills/{made['id']}"
    finance.send(f"{address}/approve")
    assert finance.send(f"{address}/pay", {"paid_on": "2027-02-20"}).json()["paid_on"] == "2027-02-20"
    assert finance.send(f"{address}/void", {"reason": "Wrong vendor"}).json()["state"] == "void"
    assert sum(LedgerEntry.objects.values_list("amount_cents", flat=True)) == 0


def test_it_refuses_a_second_bill_of_the_same_number(finance, fund):
    vendor = str(build.VendorFactory().public_id)
    finance.send("/api/bills", bill(vendor, [line(fund)]))
    assert error_fields(finance.send("/api/bills", bill(vendor, [line(fund)]))) == ["number"]


def test_it_refuses_lines_that_do_not_sum_to_the_total(finance, fund):
    vendor = str(build.VendorFactory().public_id)
    assert error_fields(finance.send("/api/bills", bill(vendor, [line(fund)], total_cents=1))) == ["total_cents"]


def test_it_answers_the_same_request_with_the_same_bill(finance, fund):
    body = bill(str(build.VendorFactory().public_id), [line(fund)])
    first, again = (finance.send("/api/bills", body, key=KEY) for _ in range(2))
    assert first.json()["id"] == again.json()["id"]


def test_it_edits_a_vendor(finance):
    vendor = build.VendorFactory()
    address = f"/api/vendors/{vendor.public_id}"
    etag = finance.get(address)["ETag"]
    assert finance.edit(address, {"is_active": False}, etag=etag).json()["is_active"] is False
