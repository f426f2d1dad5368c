"""A crew's week on paper: its days, what to draw from stock, and each order's packet behind a cover."""

from datetime import date

import pytest

from orders.desk.packets.paper_bundle import draws, week_of
from orders.workorders.models import OrderEdition, WorkOrder
from tests import build
from tests.desk.pages.pdf_text import pdf_text
from tests.workorders.orders import spray_order

pytestmark = pytest.mark.django_db
WEEK = (date(2027, 2, 8), date(2027, 2, 14))


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.fixture
def order(db):
    made = spray_order()
    WorkOrder.objects.update(state="issued")
    made.refresh_from_db()
    return made


def _asked(order):
    return {"crew": str(order.crew.public_id), "week": "2027-02-10"}


def test_it_lists_the_orders_of_a_crews_week(desk, order):
    page = desk.get("/packets/", _asked(order))
    assert [row.number for row, _ in page.context["listed"]] == [order.number]
    empty = desk.get("/packets/", {**_asked(order), "week": "2027-02-20"})
    assert "No issued order in this week" in empty.content.decode()


def test_it_sums_what_the_week_takes_from_stock(order):
    (row,) = draws([order], *WEEK)
    assert (row.needed_ul, row.held_ul, row.short_ul) == (200_000, 0, 200_000)
    assert draws([order], date(2027, 3, 1), date(2027, 3, 7)) == []


def test_it_prints_a_cover_and_every_packet(desk, order):
    reply = desk.post("/packets/print/", {**_asked(order), "as": "edition", "lang": "en"})
    text = pdf_text(reply.content)
    for words in (f"Week of {order.crew.name}", "Draw from stock", "Stock is short of", "edition 1, page 1 of"):
        assert words in text, words
    assert OrderEdition.objects.count() == 1


def test_it_may_be_looked_at_first(desk, order):
    reply = desk.post("/packets/print/", {**_asked(order), "as": "look"})
    assert "look, not for the crew" in pdf_text(reply.content)
    assert not OrderEdition.objects.exists()


def test_it_takes_the_orders_that_were_marked(desk, order):
    page = desk.get("/packets/", {"order": [str(order.public_id)]})
    assert page.context["bundle"].is_marked
    text = pdf_text(desk.post("/packets/print/", {"order": [str(order.public_id)], "as": "look"}).content)
    assert "Orders that were marked" in text


def test_the_list_of_orders_leads_to_the_marked_ones(desk, order):
    reply = desk.post("/packets/marked/", {"order": [str(order.public_id)]})
    assert reply.url == f"/packets/?order={order.public_id}"
    assert desk.post("/packets/marked/").url == "/packets/"


def test_it_says_so_where_there_is_nothing_to_print(desk, order):
    reply = desk.post("/packets/print/", {**_asked(order), "week": "2027-05-05", "as": "look"})
    assert reply.status_code == 400
    assert "nothing to print" in reply.content.decode()


def test_it_names_a_marked_order_that_cannot_be_read(desk):
    assert desk.get("/packets/", {"order": ["x"]}).status_code == 400


def test_a_lead_sees_own_crews_alone(client, order, crew_lead):
    build.CrewFactory(name="Another")
    client.force_login(crew_lead)
    assert client.get("/packets/").context["form"].crews == []


def test_a_week_begins_on_monday():
    assert week_of(date(2027, 2, 14)) == WEEK
