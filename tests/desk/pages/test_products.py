"""What the labels say, in plain words."""

import pytest
from django.urls import reverse

from tests import build
from tests.workorders.orders import SPRAY, herbicide

pytestmark = pytest.mark.django_db


def shown(client, user, address):
    client.force_login(user)
    reply = client.get(address)
    return reply.status_code, " ".join(reply.content.decode().split())


@pytest.fixture
def product(db):
    build.MethodFactory(code=SPRAY, name="spot foliar spray")
    return herbicide(
        name="Ketterline Test",
        uses=[{"method": SPRAY, "max_percent_vv": 5.0, "max_l_per_ha": 11.7}],
        caps=[{"year_basis": "12 months"}, {"kind": "program-policy", "period": "application", "kg_ae_per_ha": 5.6}],
        weather=[{"low": 0.89408}, {"measure": "temperature_c", "low": 4.4, "high": None, "kind": "label-mandatory"}],
        signal_word="DANGER",
        rain_free_hours=6,
        restricted_entry_hours=48,
    )


def page_of(client, user, product):
    return shown(client, user, f"/products/{product.public_id}/")[1]


def test_it_lists_products_with_the_state_of_their_labels(client, coordinator, product):
    build.ProductFactory(code="bare", name="Bare", reviewed_on=None)
    build.ProductFactory(code="dye", name="Marker", is_herbicide=False)
    status, page = shown(client, coordinator, "/products/")
    assert status == 200
    assert "Herbicides: 2" in page
    assert "Adjuvants, dyes and oils: 1" in page
    assert (page.count("1 to settle"), page.count("state-good")) == (1, 1)


def test_it_says_what_to_do_where_there_is_no_product(client, coordinator):
    assert "No product yet" in shown(client, coordinator, "/products/")[1]


def test_it_says_that_the_label_on_the_container_governs(client, crew_lead, product):
    for address in ("/products/", f"/products/{product.public_id}/"):
        assert "The label on the container governs" in shown(client, crew_lead, address)[1]


def test_it_tells_limits_in_both_units_with_who_may_let_them_pass(client, coordinator, product):
    page = page_of(client, coordinator, product)
    rows = [row for row in page.split("<tr>") if "glyphosate" in row and "lb ae/acre" in row]
    mandatory = next(row for row in rows if "in any 12 months" in row)
    policy = next(row for row in rows if "in one application" in row)
    assert "7.14 lb ae/acre (8.000 kg ae/ha) of treated area" in mandatory
    assert "<td>Nobody</td>" in mandatory
    assert "by name and with the reason" in policy


def test_it_tells_uses_weather_rain_and_entry(client, coordinator, product):
    page = page_of(client, coordinator, product)
    assert "Spot foliar spray" in page
    assert "5.00 qt/acre (11.7 L/ha)" in page
    assert "2 mph (0.9 m/s) to 10 mph (4.5 m/s)" in page
    assert "at least 40 °F (4 °C)" in page
    assert "6 hours without rain" in page
    assert "not for 48 hours after the application ends" in page
    assert "<dt>Signal word</dt><dd><strong>DANGER</strong></dd>" in page


def test_it_names_what_keeps_a_product_from_being_used(client, coordinator):
    page = page_of(client, coordinator, herbicide(reviewed_on=None, caps=[]))
    assert "has no review date" in page
    assert "has no yearly cap for glyphosate" in page


def test_it_warns_of_soil_and_water(client, coordinator):
    page = page_of(client, coordinator, herbicide(soil_active=True, least_water_distance_m=30))
    assert "never where their roots reach" in page
    assert "at least 98 ft (30 m)" in page


def test_it_has_no_page_for_a_product_that_is_not_there(client, coordinator):
    assert shown(client, coordinator, "/products/00000000-0000-4000-8000-000000000000/")[0] == 404


def test_it_shows_nothing_to_whoever_has_no_role(client):
    assert shown(client, build.UserFactory(roles=[]), "/products/")[0] == 403


def test_it_opens_the_label_and_the_safety_sheet(client, coordinator):
    client.force_login(coordinator)
    product = build.ProductFactory()
    document = build.ProductDocumentFactory(product=product, content=b"%PDF-1.4 invented")
    page = client.get(reverse("product", args=[product.public_id])).content.decode()
    address = reverse("product-document", args=[document.public_id])
    assert f'href="{address}"' in page
    reply = client.get(address)
    assert (reply.content, reply.headers["Content-Type"]) == (b"%PDF-1.4 invented", "application/pdf")


def test_it_says_where_crews_have_no_label_without_a_signal(client, coordinator):
    client.force_login(coordinator)
    page = client.get(reverse("product", args=[build.ProductFactory().public_id])).content.decode()
    assert "not kept here" in page
