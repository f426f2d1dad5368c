"""Logging in and out, in a real browser."""

import pytest
from playwright.sync_api import expect

from tests import build

pytestmark = pytest.mark.browser
PASSWORD = "kestrel over the hedge"


def _try(page, password):
    page.get_by_label("Username").fill("fay")
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Log in").click()


def test_it_lets_finance_in_to_the_page_asked_for_and_out_again(page, books):
    build.UserFactory(username="fay", password=PASSWORD, roles=["finance"])
    page.goto("/reports/costs/?by=fund")
    _try(page, "wrong")
    expect(page.get_by_role("alert")).to_contain_text("do not go together")
    _try(page, PASSWORD)
    expect(page).to_have_url("/reports/costs/?by=fund")
    page.get_by_role("button", name="Log out").click()
    expect(page.get_by_role("heading", name="Log in to")).to_be_visible()


def test_it_says_that_logging_in_is_paused(page, complaints, settings, transactional_db):
    build.UserFactory(username="fay", password=PASSWORD, roles=["finance"])
    settings.AXES_FAILURE_LIMIT = 2
    page.goto("/login/")
    for _ in range(2):
        _try(page, "wrong")
    expect(page.get_by_role("heading", name="Logging in is paused")).to_be_visible()
    assert "429" in complaints.pop()
