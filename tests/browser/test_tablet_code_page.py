"""The code that makes a tablet known: shown once, readable as letters and as a picture, without color."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests import build
from tests.browser.test_pages import RULES, WIDTHS

pytestmark = pytest.mark.browser


def test_it_shows_the_code_and_passes_the_checks(page, enter, transactional_db):
    build.UserFactory(username="lee", roles=["crew_lead"])
    enter("coordinator", username="viewer")
    page.goto("/tablets/")
    page.get_by_label("For whom").select_option(label="lee")
    page.get_by_role("button", name="Make the code").click()
    expect(page.get_by_role("img", name="Picture code of the address below")).to_be_visible()
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert Axe().run(page, options=RULES).violations_count == 0
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") == width
