"""The map in a real browser: each measure, the legend, marks by click, box, list and keyboard, and bulk changes."""

import pytest
from django.core.cache import cache
from playwright.sync_api import expect

from orders.estimates.models import Method
from orders.reports.ground.measures import MEASURES
from orders.sites.models import Patch
from tests.browser.conftest import ARGUMENTS, CHROMIUM
from tests.desk.pages.ground.map_world import map_build
from tests.flow.world import csv_rows

pytestmark = pytest.mark.browser
# How many pixels of the canvas are painted, and in how many colors that are not mixed from two.
PAINTED = """() => {
  const canvas = document.querySelector("#map canvas");
  const {data} = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  const seen = new Map();
  for (let at = 0; at < data.length; at += 4) {
    if (data[at + 3] !== 255) continue;
    const color = `${data[at]},${data[at + 1]},${data[at + 2]}`;
    seen.set(color, (seen.get(color) ?? 0) + 1);
  }
  return [...seen.values()].filter((count) => count > 60).length;
}"""


READS_BACK = "willReadFrequently"  # what the browser advises when a test reads the canvas again and again


@pytest.fixture
def world(transactional_db):
    cache.clear()
    made = map_build(12)
    rows = {row["code"]: row for row in csv_rows("methods.csv")}
    for method in Method.objects.all():
        Method.objects.filter(pk=method.pk).update(facts=rows[method.code])
    return made


@pytest.fixture
def opened(page, enter, world, complaints):
    """The map, drawn with the outlines of its patches, all of it on the screen."""
    enter("coordinator")
    page.goto("/map/")
    page.wait_for_selector("#map[data-outlined]", timeout=30_000)
    page.locator("#map").evaluate("map => map.scrollIntoView()")
    yield page
    complaints[:] = [told for told in complaints if READS_BACK not in told]


def _marked(page):
    return page.locator("#marked-count").inner_text()


def _point(page, patch):
    """Where a patch is on the screen: the list's button brings it to the middle of the map."""
    page.locator(f"[data-find='{patch.pk}']").click()
    page.wait_for_selector(f"#map-card [data-toggle='{patch.pk}']")
    box = page.locator("#map").bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_it_colors_by_each_measure(opened):
    for code in MEASURES:
        opened.locator(f"#by-{code}").click()
        opened.wait_for_selector(f"#map[data-drawn*='by={code}']")
        expect(opened.locator(f"#by-{code}")).to_have_attribute("aria-current", "true")
        expect(opened.locator("#legend legend")).to_have_text(MEASURES[code].words)
        assert opened.evaluate(PAINTED) >= 2, code
    assert f"by={code}" in opened.url


def test_it_draws_and_lists_only_what_the_legend_shows(opened):
    opened.locator("#by-state").click()
    opened.wait_for_selector("#map[data-drawn*='by=state']")
    before = opened.evaluate(PAINTED)
    for key in ("untreated", "under_treatment"):
        opened.locator(f"#class-{key}").uncheck()
        expect(opened.locator(f"#class-{key}")).not_to_be_checked()
    expect(opened.locator("#map-list-caption")).to_have_text("4 patches shown")
    assert opened.evaluate(PAINTED) < before
    assert "legend=state" in opened.url
    opened.reload()
    expect(opened.locator("#map-list-caption")).to_have_text("4 patches shown")


def test_it_opens_a_card_and_marks_from_it(opened, world):
    x, y = _point(opened, world.patch(3))
    opened.locator("#map-card [data-close]").click()
    opened.mouse.click(x, y)
    button = opened.locator(f"#map-card [data-toggle='{world.patch(3).pk}']")
    button.click()
    expect(button).to_have_text("Marked")
    expect(opened.locator(f"#mark-{world.patch(3).pk}")).to_be_checked()
    assert _marked(opened) == "1"


def test_it_marks_by_click_once_mark_is_pressed(opened, world):
    x, y = _point(opened, world.patch(2))
    opened.locator("[data-mode=mark]:is(button)").click()
    opened.mouse.click(x, y)
    expect(opened.locator(f"#mark-{world.patch(2).pk}")).to_be_checked()
    opened.mouse.click(x, y)
    expect(opened.locator(f"#mark-{world.patch(2).pk}")).not_to_be_checked()


def test_it_marks_a_box_by_dragging_with_shift(opened):
    box = opened.locator("#map").bounding_box()
    opened.keyboard.down("Shift")
    opened.mouse.move(box["x"] + box["width"] - 5, box["y"] + box["height"] - 5)
    opened.mouse.down()
    opened.mouse.move(box["x"] + 5, box["y"] + 5, steps=4)
    opened.mouse.up()
    opened.keyboard.up("Shift")
    expect(opened.locator("#marked-count")).to_have_text("12")
    expect(opened.locator("#map-said")).to_have_text("12 in the box. 12 marked.")


def test_it_marks_a_box_by_two_corners(opened):
    box = opened.locator("#map").bounding_box()
    opened.locator("[data-mode=box]:is(button)").click()
    opened.mouse.click(box["x"] + box["width"] / 2, box["y"] + 20)
    expect(opened.locator("#map-said")).to_contain_text("First corner set")
    opened.mouse.click(box["x"] + box["width"] - 5, box["y"] + box["height"] - 5)
    expect(opened.locator("#map-said")).to_have_text("6 in the box. 6 marked.")


def test_it_keeps_marks_of_the_list_through_filters_and_a_new_page(opened, world):
    with opened.expect_response("**/map/marks/"):
        opened.locator(f"#mark-{world.patch(1).pk}").check()
    opened.locator("summary", has_text="Filters").click()
    opened.locator("#id_site").select_option("CEDAR")
    opened.locator("#asked button[type=submit]").click()
    expect(opened.locator("#map-list-caption")).to_have_text("4 patches shown")
    assert _marked(opened) == "1"
    opened.goto("/map/?by=order")
    expect(opened.locator(f"#mark-{world.patch(1).pk}")).to_be_checked()
    with opened.expect_response("**/map/marks/"):
        opened.locator("[data-here=all]").click()
    assert _marked(opened) == "12"
    with opened.expect_response("**/map/marks/"):
        opened.locator("[data-here=clear]").click()
    assert _marked(opened) == "0"


def test_a_press_before_the_patches_arrive_waits_for_them(page, enter, world):
    enter("coordinator")
    held = []

    def hold(route):
        held.append(route)

    page.route("**/map/patches.json*", hold)
    page.goto("/map/")
    page.locator("[data-here=all]").click()
    page.locator(f"[data-find='{world.patch(3).pk}']").click()
    assert (len(held), _marked(page)) == (1, "0")
    held[0].continue_()
    expect(page.locator("#marked-count")).to_have_text("12")
    expect(page.locator(f"#map-card [data-toggle='{world.patch(3).pk}']")).to_have_text("Marked")


def test_it_says_that_the_patches_could_not_be_read_and_reads_them_at_the_next_turn(page, enter, world, complaints):
    enter("coordinator")
    page.route("**/map/patches.json*", lambda route: route.fulfill(status=503), times=1)
    page.goto("/map/")
    expect(page.locator("#map-said")).to_have_text("The patches could not be read. Load the page again.")
    page.locator("[data-here=all]").click()
    assert _marked(page) == "0"
    assert any("could not be read (503)" in told for told in complaints)
    complaints.clear()
    page.locator("#by-state").click()
    page.wait_for_selector("#map[data-drawn*='by=state']")
    page.locator("[data-here=all]").click()
    expect(page.locator("#marked-count")).to_have_text("12")


def test_it_does_all_by_keyboard(opened, world):
    _point(opened, world.patch(4))
    opened.locator("#map").focus()
    opened.keyboard.press("ArrowRight")
    opened.keyboard.press("ArrowLeft")
    expect(opened.locator(".map-cross")).to_be_visible()
    expect(opened.locator("#map-said")).to_contain_text("BRACKEN M-004: cover 50%")
    opened.keyboard.press("Enter")
    expect(opened.locator("#map-said")).to_have_text("BRACKEN M-004 marked. 1 marked.")
    expect(opened.locator(f"#mark-{world.patch(4).pk}")).to_be_checked()
    opened.keyboard.press("Escape")
    opened.keyboard.press("Space")
    expect(opened.locator("#map-card h2")).to_contain_text("BRACKEN M-004")
    opened.keyboard.press("Home")
    opened.locator("[data-mode=box]:is(button)").press("Enter")
    opened.locator("#map").focus()
    for _ in range(12):
        opened.keyboard.press("Shift+ArrowLeft")
        opened.keyboard.press("Shift+ArrowUp")
    opened.keyboard.press("Enter")
    expect(opened.locator("#map-said")).to_contain_text("First corner set")
    opened.keyboard.press("Escape")
    opened.keyboard.press("Enter")
    expect(opened.locator("#map-said")).to_contain_text("First corner set")


def test_it_changes_the_marked_patches_and_puts_them_back(opened, world):
    for number in (0, 3):
        opened.locator(f"#mark-{world.patch(number).pk}").check()
    opened.locator("summary", has_text="Change what is wanted").click()
    opened.locator("#wanted_control_state").select_option("maintenance")
    opened.locator("#wanted_reason").fill("Two clean years")
    opened.get_by_role("button", name="Change the marked patches").click()
    expect(opened.locator(".map-edited")).to_contain_text("2 patches changed: control state maintenance.")
    assert Patch.objects.get(pk=world.patch(0).pk).control_state == "maintenance"
    opened.get_by_role("button", name="Undo").click()
    expect(opened.locator("main")).to_contain_text("Put back on 2 patches.")
    assert Patch.objects.get(pk=world.patch(0).pk).control_state == "untreated"


def test_it_draws_anew_in_the_dark(opened):
    light = opened.evaluate(PAINTED)
    shot = opened.locator("#map").screenshot()
    opened.emulate_media(color_scheme="dark")
    expect(opened.locator("#map")).to_have_css("background-color", "rgb(20, 26, 23)")
    assert opened.locator("#map").screenshot() != shot
    assert opened.evaluate(PAINTED) >= light - 2


def test_it_works_as_a_list_without_scripts(player, live_server, world, enter, context):
    enter("coordinator")
    browser = player.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
    try:
        plain = browser.new_context(base_url=live_server.url, java_script_enabled=False)
        plain.add_cookies(context.cookies())
        page = plain.new_page()
        page.goto("/map/")
        expect(page.locator("#map")).to_be_hidden()
        page.locator("#by-state").click()
        page.locator("#class-untreated").uncheck()
        page.get_by_role("button", name="Show these classes").click()
        expect(page.locator("#map-list-caption")).to_have_text("8 patches shown")
        page.locator(f"#mark-{world.patch(1).pk}").check()
        page.get_by_role("button", name="Keep these marks").click()
        page.locator("#by-cover").click()
        expect(page.locator(f"#mark-{world.patch(1).pk}")).to_be_checked()
        page.locator("summary", has_text="Change what is wanted").click()
        page.locator("#wanted_target_cover").fill("3")
        page.locator("#wanted_reason").fill("Rare plants beside it")
        page.get_by_role("button", name="Change the marked patches").click()
        expect(page.locator(".map-edited")).to_contain_text("1 patch changed: target cover 3%.")
        assert Patch.objects.get(pk=world.patch(1).pk).target_cover == 0.03
    finally:
        browser.close()
