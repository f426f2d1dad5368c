"""The order that a crew carries: who is certified, what is used, how to wear it, whom to call."""

import pytest

from orders.sites.models import Site
from tests import build
from tests.browser import record_pages
from tests.desk.pages.pdf_text import pdf_text

pytestmark = pytest.mark.django_db


def shown(client, user, address):
    client.force_login(user)
    return " ".join(client.get(address).content.decode().split())


def test_it_tells_what_an_applicator_must_carry(client, coordinator):
    address = record_pages.order_print()
    page = shown(client, coordinator, address)
    for words in (
        "Certified applicators",
        "Requested by",
        "99901-7",
        "Long sleeves",
        "Keep out until dry",
        "Invented General Hospital",
        "38.20000, -85.70000",
        "at most 10 mph (4.5 m/s). Label, mandatory",
        "no</td>",
    ):
        assert words in page, words
    assert 'class="map-patch"' in page


def test_it_speaks_spanish(client, coordinator):
    address = record_pages.order_print_spanish()
    page = shown(client, coordinator, address)
    assert 'lang="es"' in page
    for words in ("Orden de trabajo", "Aplicadores certificados", "Manda la etiqueta", "viento", "En una emergencia"):
        assert words in page, words


def test_it_makes_a_pdf_with_the_same_content(client, coordinator):
    client.force_login(coordinator)
    reply = client.get(f"{record_pages.order_print()}order.pdf")
    text = pdf_text(reply.content)
    assert reply["Content-Disposition"].startswith('inline; filename="work-order-')
    for words in ("Certified applicators", "99901-7", "Invented General Hospital", "The label on the container"):
        assert words in text, words


def test_it_says_so_where_the_state_makes_crews_carry_it(client, coordinator):
    address = record_pages.order_print()
    words = "Whoever applies without a certificate of their own carries this order."
    assert words not in shown(client, coordinator, address)
    missouri = build.JurisdictionFactory(code="MO")
    Site.objects.update(jurisdiction=missouri)
    assert words in shown(client, coordinator, address)
    assert "Nobody on this crew holds a certificate there on that day." in shown(client, coordinator, address)


def test_it_is_no_order_of_another_crew_for_a_lead(client, crew_lead):
    client.force_login(crew_lead)
    assert client.get(record_pages.order_print()).status_code == 404
