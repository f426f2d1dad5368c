"""Finance at the cost report, in a real browser."""

import csv
import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from orders.costs.models import LedgerEntry

pytestmark = pytest.mark.browser


def _table(page: Page, name: str) -> list[list[str]]:
    page.wait_for_load_state("load")
    rows = page.locator(f"#{name} :is(tbody, tfoot) tr").all()
    return [[cell.strip() for cell in row.locator("th, td").all_inner_texts()] for row in rows]


def test_it_cuts_the_report_and_keeps_the_address(page, books, enter):
    enter("finance")
    page.goto("/reports/costs/")
    expect(page.get_by_role("heading", level=1)).to_have_text("What it cost, by site")
    page.get_by_role("navigation", name="Cut the report by").get_by_role("link", name="Fund").click()
    expect(page).to_have_url("/reports/costs/?by=fund")
    assert [row[0] for row in _table(page, "costs")] == ["CITY", "GRANT", "Total"]
    page.get_by_label("Season").select_option("Winter")
    page.get_by_role("button", name="Show").click()
    expect(page).to_have_url(re.compile("season="))
    assert [row[2] for row in _table(page, "costs")] == ["$612.34", "$0.00", "$612.34"]
    page.reload()
    assert [row[2] for row in _table(page, "costs")] == ["$612.34", "$0.00", "$612.34"]


def test_it_searches_and_sorts(page, books, enter):
    enter("finance")
    page.goto("/reports/costs/")
    page.get_by_label("Search the rows").fill("th")
    page.keyboard.press("Enter")
    expect(page.get_by_text("2 of 3 rows are shown")).to_be_visible()
    page.get_by_role("link", name="Actual", exact=True).click()
    expect(page).to_have_url(re.compile("sort=-actual"))
    assert [row[0] for row in _table(page, "costs")] == ["NORTH", "SOUTH", "Total shown"]
    page.get_by_role("link", name="Actual", exact=True).click()
    expect(page).to_have_url(re.compile("sort=actual"))
    assert [row[0] for row in _table(page, "costs")] == ["SOUTH", "NORTH", "Total shown"]


def test_it_opens_a_row_to_the_ledger_rows_behind_it(page, books, enter):
    enter("finance")
    page.goto("/reports/costs/?q=north")
    page.get_by_role("link", name="NORTH").click()
    expect(page).to_have_url(re.compile("/reports/costs/rows/"))
    *_, total = _table(page, "ledger")
    assert total == ["Sum of all 3 rows", "$612.34"]
    assert sum(row.amount_cents for row in LedgerEntry.objects.filter(site_code="NORTH")) == 61_234
    page.get_by_role("link", name="Back to costs by site").click()
    expect(page).to_have_url("/reports/costs/?q=north")


def test_it_downloads_what_the_page_shows(page, books, enter):
    enter("finance")
    page.goto("/reports/costs/?sort=-planned")
    shown = _table(page, "costs")
    with page.expect_download() as download:
        page.get_by_role("link", name="Download CSV").click()
    assert download.value.suggested_filename == "costs-by-site.csv"
    rows = list(csv.reader(Path(download.value.path()).read_text().splitlines()))
    plain = [[cell.replace("$", "").replace("−", "-") for cell in row] for row in shown]
    assert rows[1:] == plain


def test_it_works_from_the_keyboard_alone(page, books, enter):
    enter("finance")
    page.goto("/reports/costs/")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the content")).to_be_focused()
    page.keyboard.press("Enter")
    chip = page.get_by_role("link", name="Work order", exact=True)
    for _ in range(page.get_by_label("Pages about money").get_by_role("link").count() + 1):
        page.keyboard.press("Tab")
    expect(chip).to_be_focused()
    assert chip.evaluate("it => getComputedStyle(it).outlineWidth") == "3px"
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("What it cost, by work order")
