"""A file of unknown origin brought in by a real browser: dropped, matched, looked at on the map, taken."""

import base64
from typing import Any

import pytest
from playwright.sync_api import expect

from orders.sites.models import Survey, SurveyImport
from tests.browser.intake_pages import match, mill
from tests.sites.files.made import ONE_BAD, performed

pytestmark = pytest.mark.browser
DROP = """
  ([place, name, bytes]) => {
    const carried = new DataTransfer();
    carried.items.add(new File([Uint8Array.from(atob(bytes), (each) => each.charCodeAt(0))], name));
    place.dispatchEvent(new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer: carried }));
  }
"""


def test_a_file_is_dropped_matched_looked_at_and_taken(page, enter, transactional_db):
    mill()
    enter("coordinator")
    page.goto("/surveys/new/")
    place = page.locator("[data-drop]").element_handle()
    page.evaluate(DROP, [place, "theirs.geojson", base64.b64encode(ONE_BAD).decode()])
    expect(page.locator("[data-drop-named]")).to_contain_text("theirs.geojson")
    page.get_by_role("button", name="Open the file").click()
    expect(page.locator("#from-patch_code")).to_have_value("POLY_ID")
    page.locator("button.button-main", has_text="Check the file").click()
    expect(page.locator("h1")).to_have_text("What theirs.geojson would change")
    performed(SurveyImport.objects.get())
    expect(page.locator("#preview")).to_have_attribute("data-drawn", "2")  # put in place when the check ended
    page.get_by_role("button", name="Show row 2 on the map").press("Enter")
    expect(page.locator("#preview-said")).to_contain_text("cannot be taken")
    page.get_by_label("Take the good rows only").check()
    page.get_by_role("button", name="Take 1 survey").click()
    expect(page.locator("h1")).to_have_text("theirs.geojson")
    performed(SurveyImport.objects.get(dry_run=False))
    expect(page.locator("#import-heading")).to_contain_text("Taken")
    assert Survey.objects.count() == 1


def test_the_page_of_matches_follows_each_choice(page, enter, transactional_db):
    address = match()
    enter("coordinator")
    page.goto(address)
    column = page.locator("#from-growth_form")
    column.focus()
    column.select_option("SCI_NAME")
    expect(page.locator("[name='theirs-growth_form-0']")).to_have_value("Euonymus fortunei")
    expect(page.locator("#from-growth_form")).to_be_focused()


def test_what_is_opened_while_a_choice_is_on_its_way_stays_open(page, enter, transactional_db):
    address = match()
    enter("coordinator")
    page.goto(address)
    held: list[Any] = []

    def hold(route):
        if route.request.method == "POST":
            held.append(route)
        else:
            route.continue_()

    page.route(f"**{address}", hold)
    page.locator("#from-growth_form").select_option("SCI_NAME")
    folds = page.locator("#matches details[id$='-fold']")
    fold = folds.first
    fold.locator("summary").first.click()
    held[0].continue_()
    expect(page.locator("[name='theirs-growth_form-0']")).to_have_value("Euonymus fortunei")
    expect(fold).to_have_attribute("open", "")
