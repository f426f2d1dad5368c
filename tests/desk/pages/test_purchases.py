"""Purchase orders and bills on pages: drafted, approved, billed, paid, void; open to finance alone."""

from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from orders.costs.models import Bill, LedgerEntry, PurchaseOrder
from tests import build
from tests.browser import purchase_pages
from tests.desk.pages.pdf_text import pdf_text

pytestmark = pytest.mark.django_db


def lines(*rows: dict[str, Any], initial: int = 0) -> dict[str, str]:
    told = {"lines-TOTAL_FORMS": str(len(rows)), "lines-INITIAL_FORMS": str(initial)}
    for number, row in enumerate(rows):
        told |= {f"lines-{number}-{name}": str(value) for name, value in row.items()}
    return told


def line(fund, **more):
    return {"category": "contract", "description": "Clearing", "amount": "125.50", "payer": fund.public_id, **more}


@pytest.fixture
def fund():
    build.FundFactory(code="SUSPENSE", is_suspense=True)
    return build.FundFactory(code="CITY", budget_cents=None)


def ordered(client, fund, vendor):
    head = {"vendor": vendor.public_id, "ordered_on": "2027-02-01"}
    told = head | lines(line(fund, quantity="1", unit="each"), {"description": "", "category": "other"})
    return client.post(reverse("purchase-new"), told)


def billed(client, fund, vendor, total="125.50"):
    head = {"vendor": vendor.public_id, "number": "B-7", "billed_on": "2027-02-05", "worked_on": "2027-02-01"}
    return client.post(reverse("bill-new"), head | {"total": total} | lines(line(fund)))


def test_it_drafts_approves_and_closes(as_finance, fund):
    ordered(as_finance, fund, build.VendorFactory())
    purchase = PurchaseOrder.objects.get()
    assert [(row.amount_cents, row.fund) for row in purchase.lines.all()] == [(12_550, fund)]
    as_finance.post(reverse("purchase-approve", args=[purchase.public_id]))
    assert "$125.50" in as_finance.get(reverse("purchase", args=[purchase.public_id])).content.decode()
    as_finance.post(reverse("purchase-close", args=[purchase.public_id]))
    purchase.refresh_from_db()
    assert purchase.state == "closed"


def test_it_asks_for_at_least_one_line(as_finance, fund):
    head = {"vendor": build.VendorFactory().public_id, "ordered_on": "2027-02-01"}
    reply = as_finance.post(reverse("purchase-new"), head | lines({"description": ""}))
    assert reply.status_code == 400
    assert "at least one line" in reply.content.decode()


def test_it_fills_a_bill_in_from_its_purchase_order(as_finance, fund):
    purchase = build.PurchaseOrderFactory(cents=0, state="approved")
    bought = build.PurchaseLineFactory(order=purchase, description="Clearing of the oxbow", fund=fund)
    build.CommitmentFactory(purchase_line=bought, amount_cents=6_000, order=None, **purchase_pages.NOWHERE)
    page = as_finance.get(reverse("bill-new") + f"?purchase={purchase.public_id}").content.decode()
    assert "Clearing of the oxbow" in page
    assert 'value="60"' in page or 'value="60.00"' in page


def test_it_adds_posts_pays_and_voids_a_bill(as_finance, fund):
    billed(as_finance, fund, build.VendorFactory())
    bill = Bill.objects.get()
    as_finance.post(reverse("bill-approve", args=[bill.public_id]))
    assert LedgerEntry.objects.get(book="cost").amount_cents == 12_550
    as_finance.post(reverse("bill-pay", args=[bill.public_id]), {"paid_on": "2027-02-20"})
    bill.refresh_from_db()
    assert (bill.state, bill.paid_on) == ("paid", date(2027, 2, 20))
    as_finance.post(reverse("bill-void", args=[bill.public_id]), {"reason": "Wrong vendor"})
    bill.refresh_from_db()
    assert bill.state == "void"


def test_it_says_that_lines_and_total_differ(as_finance, fund):
    reply = billed(as_finance, fund, build.VendorFactory(), total="100.00")
    assert reply.status_code == 400
    assert "The lines sum to $125.50, the bill says $100.00." in reply.content.decode()


def test_it_prints_lines_total_and_where_to_sign(as_finance, fund):
    purchase = build.PurchaseOrderFactory(cents=12_550)
    text = pdf_text(as_finance.get(reverse("purchase-file", args=[purchase.public_id])).content)
    for words in (f"Purchase order {purchase.number}", "Clearing by hand", "$125.50", "Approved by"):
        assert words in text


def test_it_shows_empty_lists(as_finance):
    assert "Nothing was ordered yet" in as_finance.get(reverse("purchases")).content.decode()
    assert "No bill was entered yet" in as_finance.get(reverse("bills")).content.decode()


@pytest.mark.parametrize("name", ["purchases", "bills", "purchase-new", "bill-new", "stock-value", "purchase-list"])
def test_it_is_closed_to_the_coordinator(client, coordinator, name):
    client.force_login(coordinator)
    assert client.get(reverse(name)).status_code == 403
