"""The packet of an order: everything a crew needs is on it, in two languages, and an edition says what changed."""

from datetime import date

import pytest

from orders.workorders.models import OrderEdition, WorkOrder
from orders.workorders.printing import edition_state, editions_newest
from tests import build
from tests.browser import record_pages
from tests.desk.pages.pdf_text import pdf_text

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.fixture
def order(db):
    record_pages.order_print()
    found = WorkOrder.objects.get()
    WorkOrder.objects.update(state="issued")
    build.ChecklistAnswerFactory(site=found.site, answer="Owner told, September 2026")
    found.refresh_from_db()
    return found


def shown(client, address):
    return " ".join(client.get(address).content.decode().split())


def test_it_holds_all_that_a_crew_needs(desk, order):
    page = shown(desk, f"/orders/{order.public_id}/packet/")
    for words in (
        "Days",
        "What to do",
        "Begin at the creek.",
        "Bring",
        "Hazards, to speak of at the briefing",
        "The label on the container governs",
        "People",
        "Site checklist",
        "Owner told, September 2026",
        "Emergency card",
        "Invented General Hospital",
        "38° 12.000′ N, 85° 42.000′ W",
        "Close-out: hours",
        "Close-out: patches",
        "Close-out: material, product as packaged",
        "Application record, one for each mix, place and day",
    ):
        assert words in page, words


def test_it_is_the_same_as_a_pdf_with_numbered_pages(desk, order):
    reply = desk.get(f"/orders/{order.public_id}/packet/packet.pdf")
    text = pdf_text(reply.content)
    assert reply["Content-Type"] == "application/pdf"
    for words in ("Emergency card", "Close-out: hours", "look, not for the crew, page 1 of", "Site checklist"):
        assert words in text, words


def test_it_speaks_spanish(desk, order):
    page = shown(desk, f"/orders/{order.public_id}/packet/?lang=es")
    for words in ("Qué hacer", "Tarjeta de emergencia", "Cierre: horas", "Peligros, para hablar"):
        assert words in page, words


def test_looking_makes_no_edition_and_printing_makes_one(desk, order):
    desk.get(f"/orders/{order.public_id}/packet/packet.pdf")
    assert not OrderEdition.objects.exists()
    for _ in range(2):
        reply = desk.post(f"/orders/{order.public_id}/packet/print/", {"lang": "en"})
        assert "edition 1, page 1 of" in pdf_text(reply.content)
    assert OrderEdition.objects.count() == 1


def test_a_change_makes_the_next_edition_and_tells_what_changed(desk, order):
    desk.post(f"/orders/{order.public_id}/packet/print/")
    WorkOrder.objects.update(instructions="Begin at the road.")
    order.refresh_from_db()
    assert list(edition_state(order).changes) == ["The instructions changed."]
    assert "changed since" in shown(desk, f"/orders/{order.public_id}/")
    text = pdf_text(desk.post(f"/orders/{order.public_id}/packet/print/").content)
    assert "edition 2, page 1 of" in text
    assert "It stands in place of all before it" in text


def test_a_moved_day_is_told_by_its_days(order, desk):
    desk.post(f"/orders/{order.public_id}/packet/print/")
    visit = order.order_visits.get().visit
    type(visit).objects.update(day=date(2027, 2, 11))
    told = list(edition_state(order).changes)
    assert [("no longer" in words, "new day" in words) for words in told] == [(True, False), (False, True)]


def test_a_draft_is_looked_at_and_not_printed(desk, order):
    WorkOrder.objects.update(state="draft", issued_at=None)
    reply = desk.post(f"/orders/{order.public_id}/packet/print/")
    assert reply.status_code == 409
    assert "only issued orders are printed" in reply.content.decode()


def test_lists_know_the_newest_edition_in_few_queries(order, desk, django_assert_num_queries):
    desk.post(f"/orders/{order.public_id}/packet/print/")
    others = build.WorkOrderFactory.create_batch(5)
    with django_assert_num_queries(3):
        found = editions_newest([order, *others])
    assert {key: (row.edition.number, row.is_touched) for key, row in found.items()} == {order.pk: (1, False)}


def test_it_is_a_404_for_another_crew(client, order, crew_lead):
    client.force_login(crew_lead)
    assert client.get(f"/orders/{order.public_id}/packet/").status_code == 404


def test_it_is_not_for_finance(client, order, finance):
    client.force_login(finance)
    assert client.get(f"/orders/{order.public_id}/packet/").status_code == 403
