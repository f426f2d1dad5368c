"""Places and things set up in a real browser: a boundary by the table of corners, a load worked out while typing."""

import pytest
from playwright.sync_api import expect

from orders.sites.models import Site
from orders.supplies.models import Mix, Product
from tests import build
from tests.browser.place_pages import STATES

pytestmark = pytest.mark.browser
TRIANGLE = "POLYGON((-85.6 38.2, -85.59 38.2, -85.59 38.21, -85.6 38.2))"


def test_it_adds_a_site_by_keyboard_and_enter_saves(page, enter, transactional_db):
    build.JurisdictionFactory(code="KY")
    enter("coordinator")
    page.goto("/setup/sites/new/")
    page.get_by_label("Boundary as text").fill(TRIANGLE)
    page.get_by_label("Jurisdiction").select_option("KY")
    page.get_by_label("Time zone").select_option("America/New_York")
    for label, text in (("Code", "NEW"), ("Drive from the shop, minutes", "20"), ("Drive from the shop, miles", "9")):
        page.get_by_label(label, exact=True).fill(text)
    expect(page.locator("[data-part=size]")).to_contain_text("acres")
    page.get_by_label("Name", exact=True).fill("New Hollow")
    page.get_by_label("Name", exact=True).press("Enter")
    expect(page.get_by_role("status").filter(has_text="New Hollow is added")).to_be_visible()
    assert Site.objects.get().max_lat == 38.21


def test_it_works_out_a_load_while_it_is_typed(page, enter, transactional_db):
    address = STATES["setup-mix"]()
    enter("pesticide_supervisor")
    page.goto(address)
    page.get_by_label("Percent of the mix, by volume").first.fill("10")
    expect(page.locator("#load")).to_contain_text("10% of")
    assert [part.percent_vv for part in Mix.objects.get().parts.all()[:1]] == [2.0]


def test_it_adds_a_row_to_a_label_without_script(chromium, live_server, context, enter, transactional_db):
    address = STATES["setup-product"]()
    enter("pesticide_supervisor")
    plain = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    plain.add_cookies(context.cookies())
    page = plain.new_page()
    page.goto(address)
    held = page.get_by_role("group", name="Limit 2", exact=True)
    expect(held).to_have_count(1)
    page.get_by_role("button", name="More rows: limits").click()
    expect(page.get_by_role("group", name="Limit 4", exact=True)).to_have_count(1)
    page.get_by_label("Name", exact=True).fill("Ketterline T-361")
    page.get_by_role("button", name="Save what the label says").click()
    expect(page.get_by_role("status").filter(has_text="is saved")).to_be_visible()
    assert Product.objects.get().name == "Ketterline T-361"
    plain.close()
