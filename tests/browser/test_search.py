"""The search field in the head: by the keyboard alone, and without scripts."""

import re

import pytest
from playwright.sync_api import expect

from tests import build

pytestmark = pytest.mark.browser


@pytest.fixture
def desk(transactional_db, page, enter):
    build.SiteFactory(code="HOLLOW", name="Ketterfold Hollow")
    enter("coordinator")
    page.goto("/sites/")
    return page


def test_it_is_reached_by_a_slash_and_walked_by_arrows(desk):
    desk.keyboard.press("/")
    expect(desk.locator("#head-question")).to_be_focused()
    desk.keyboard.type("hollow")
    expect(desk.locator("#head-found a").first).to_be_visible()
    expect(desk.locator("#head-found-heard")).to_have_text("1 suggestion")
    desk.keyboard.press("ArrowDown")
    expect(desk.locator("#head-found a").first).to_be_focused()
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", level=1)).to_contain_text("Ketterfold Hollow")


def test_it_closes_by_escape_and_keeps_what_was_typed(desk):
    desk.locator("#head-question").fill("hollow")
    expect(desk.locator("#head-found")).to_be_visible()
    desk.keyboard.press("Escape")
    expect(desk.locator("#head-found")).to_be_hidden()
    expect(desk.locator("#head-question")).to_have_value("hollow")


def test_it_opens_the_page_of_the_search_by_enter(desk):
    desk.locator("#head-question").fill("hollow")
    desk.keyboard.press("Enter")
    expect(desk).to_have_url(re.compile(r"/search/\?q=hollow"))


def test_a_slash_in_a_field_is_a_slash(desk):
    desk.locator("#head-question").focus()
    desk.keyboard.type("a/b")
    expect(desk.locator("#head-question")).to_have_value("a/b")
