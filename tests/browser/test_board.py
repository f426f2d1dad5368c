"""The board in a browser: a visit moved by drag, by keys and by menu; what breaks is told first, and a move undone."""

import re

import pytest
from playwright.sync_api import expect

from orders.planning.models import Visit
from tests import build
from tests.api.scene import scene_build
from tests.planning.small import asked

pytestmark = pytest.mark.browser


@pytest.fixture
def scene(transactional_db, enter):
    """One visit on Monday, February 1; the season's window allows all of that week."""
    made = scene_build()
    enter("coordinator", username="cora")
    return made


@pytest.fixture
def board(page, scene):
    page.goto(f"/seasons/{scene.world.season.public_id}/board/?week=2027-02-01")
    return page


def _cell(page, day, crew="Hollow crew"):
    return page.get_by_role("cell", name=f"{crew}, {day}", exact=False)


def _card(page):
    return page.locator("[data-visit]")


def _place(scene):
    visit = Visit.objects.get(pk=scene.visit.pk)
    return visit.day.isoformat(), visit.crew.name


def _carry(page, cell):
    """Hold the mouse over a cell with the card."""
    _card(page).scroll_into_view_if_needed()
    _card(page).locator("p").first.hover()
    page.mouse.down()
    cell.hover(position={"x": 20, "y": 10}, force=True)
    cell.hover(position={"x": 24, "y": 14}, force=True)


def test_it_moves_by_drag_and_undoes(board, scene):
    _carry(board, _cell(board, "Wed, Feb 3"))
    expect(board.locator("#drop")).to_contain_text("Hollow crew, Wed, Feb 3: it breaks nothing.")
    board.mouse.up()
    expect(_cell(board, "Wed, Feb 3").locator("[data-visit]")).to_be_focused()
    assert _place(scene) == ("2027-02-03", "Hollow crew")
    board.get_by_role("button", name="Undo").click()
    expect(board.get_by_text("Undone.")).to_be_visible()
    assert _place(scene) == ("2027-02-01", "Hollow crew")


def test_it_asks_for_a_reason_where_the_drop_breaks_something(board, scene):
    _carry(board, _cell(board, "Sat, Feb 6"))
    expect(board.locator("#drop-breaks")).to_contain_text("day off, needs a reason")
    board.mouse.up()
    expect(board.get_by_label("Why all the same?")).to_be_focused()
    assert _place(scene) == ("2027-02-01", "Hollow crew")
    board.keyboard.type("The owner is there on Saturday only.")
    board.keyboard.press("Enter")
    expect(_cell(board, "Sat, Feb 6").locator("[data-visit]")).to_be_visible()
    assert _place(scene) == ("2027-02-06", "Hollow crew")


def test_it_moves_nothing_where_nobody_may_put_it(board, scene):
    build.ClosureFactory(site=scene.visit.site, first_day="2027-02-04", last_day="2027-02-04")
    board.reload()
    _carry(board, _cell(board, "Thu, Feb 4"))
    expect(board.locator("#drop-breaks")).to_contain_text("closed, refused")
    board.mouse.up()
    expect(board.get_by_role("button", name="Put it here")).to_be_disabled()
    assert _place(scene) == ("2027-02-01", "Hollow crew")


def test_it_moves_by_keys(board, scene):
    _card(board).focus()
    board.keyboard.press("m")
    expect(_cell(board, "Mon, Feb 1")).to_be_focused()
    board.keyboard.press("ArrowRight")
    expect(_cell(board, "Tue, Feb 2")).to_be_focused()
    expect(board.locator("#drop-heard")).to_contain_text("Tue, Feb 2: it breaks nothing.")
    board.keyboard.press("Enter")
    expect(_cell(board, "Tue, Feb 2").locator("[data-visit]")).to_be_focused()
    assert _place(scene) == ("2027-02-02", "Hollow crew")


def test_escape_lets_it_go_where_it_was(board, scene):
    _card(board).focus()
    board.keyboard.press("Enter")
    board.keyboard.press("ArrowRight")
    board.keyboard.press("Escape")
    expect(_card(board)).to_be_focused()
    expect(board.locator("#drop")).to_be_hidden()
    expect(board.locator("#drop-heard")).to_have_text("Let go; nothing is moved.")
    assert _place(scene) == ("2027-02-01", "Hollow crew")


def test_it_moves_by_the_menu(board, scene):
    board.get_by_role("link", name="Move ").click()
    board.get_by_label("Day").fill("2027-02-05")
    board.get_by_role("button", name="See what it breaks").click()
    expect(board.get_by_role("heading", name="It breaks nothing")).to_be_visible()
    board.get_by_role("button", name="Move it").click()
    expect(board.get_by_role("button", name="Undo")).to_be_visible()
    assert _place(scene) == ("2027-02-05", "Hollow crew")


def test_it_puts_asked_for_work_on_a_day(board, scene):
    asked(scene.world, "B", 0.4, first_day="2027-02-01", last_day="2027-02-26")
    board.reload()
    board.get_by_role("button", name=re.compile("^Pick up .* B, ")).click()
    _cell(board, "Thu, Feb 4").click()
    expect(board.locator("#drop")).to_contain_text("Thu, Feb 4: it breaks nothing.")
    board.get_by_role("button", name="Put it here").click()
    expect(_cell(board, "Thu, Feb 4").locator("[data-visit]")).to_be_focused()
    assert Visit.objects.count() == 2


def test_the_silence_of_the_server_is_told(board, scene, complaints):
    board.context.route("**/board/preview/*", lambda route: route.abort())
    _card(board).focus()
    board.keyboard.press("m")
    expect(board.locator("#drop")).to_contain_text("the server does not answer")
    expect(board.get_by_role("button", name="Put it here")).to_be_disabled()
    complaints.clear()
