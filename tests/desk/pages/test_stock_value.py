"""Stock with its value on pages: received, counted, written off, and what to buy."""

import pytest
from django.urls import reverse

from orders.costs.models import LedgerEntry, StockValue
from tests import build
from tests.browser import purchase_pages

pytestmark = pytest.mark.django_db


@pytest.fixture
def suspense(db):
    return build.FundFactory(code="SUSPENSE", is_suspense=True)


def text_of(client, address) -> str:
    return " ".join(client.get(address).content.decode().split())


def test_it_shows_what_is_on_hand_and_what_it_is_worth(as_finance):
    page = text_of(as_finance, purchase_pages.stock())
    for words in ("14.75 L", "$342.62", "Lot B-2", "$177.62", "A jug froze"):
        assert words in page


def test_it_shows_nothing_of_days_before(as_finance):
    purchase_pages.stock()
    assert "No stock has a value yet" in text_of(as_finance, reverse("stock-value") + "?on=2026-11-30")


def test_it_receives_a_lot(as_finance, suspense):
    product = build.ProductFactory()
    told = {"product": product.public_id, "lot_number": "N-1", "amount": "2.5", "unit": "gal", "price": "22.40"}
    reply = as_finance.post(reverse("stock-receive"), told | {"received_on": "2027-02-01"})
    assert reply.status_code == 302
    assert LedgerEntry.objects.get().amount_cents == StockValue.objects.get().value_cents == 5_600  # 2.5 gallons


def test_it_writes_off(as_finance, suspense):
    lot = build.StockLotFactory()
    told = {"kind": "write_off", "lot": lot.public_id, "amount": "1", "unit": "L", "on": "2027-02-01"}
    as_finance.post(reverse("stock-count"), told | {"reason": "Frozen"})
    assert LedgerEntry.objects.get(book="cost").amount_cents == 2_200


def test_it_asks_why_stock_was_written_off(as_finance, suspense):
    lot = build.StockLotFactory()
    told = {"kind": "write_off", "lot": lot.public_id, "amount": "1", "unit": "L", "on": "2027-02-01", "reason": ""}
    assert as_finance.post(reverse("stock-count"), told).status_code == 400


def test_it_says_what_to_buy_and_what_has_no_price(as_finance):
    page = text_of(as_finance, purchase_pages.to_buy())
    assert "4 of" in page
    assert "$83.24" in page  # 4 x 946 mL at $22 a liter
    assert "no price" in page
    assert "1 product without a price is not in the sum." in page
