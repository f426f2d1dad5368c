"""Orders at the desk in a browser: many issued at once, a checklist answered, closed from paper, void and again."""

import pytest
from playwright.sync_api import expect

from orders.workorders.models import CloseOut, WorkOrder
from tests import build
from tests.api.scene import scene_build

pytestmark = pytest.mark.browser


@pytest.fixture
def scene(transactional_db, enter):
    made = scene_build()
    enter("coordinator", username="cora")
    return made


def test_it_issues_marked_orders_once_the_checklist_is_answered(page, scene):
    build.ChecklistQuestionFactory(code="owner", question="Has the owner agreed?")
    page.goto("/orders/?state=draft")
    page.get_by_label(f"Order {scene.order.number}").check()
    page.get_by_role("button", name="Issue the marked orders").click()
    expect(page.get_by_role("heading", name="0 issued, 1 refused")).to_be_visible()
    page.get_by_role("link", name="Answer the checklist").click()
    page.get_by_label("What was found out, and from whom").fill("Yes, by letter.")
    page.get_by_role("button", name="Save the answers").click()
    expect(page.get_by_role("heading", name="Nothing keeps it from being issued")).to_be_visible()
    page.get_by_role("button", name="Issue it").click()
    expect(page.locator("main").get_by_role("status")).to_contain_text("is issued to Hollow crew")


def test_it_voids_an_order_and_lets_it_stand_again(page, scene):
    scene.issue()
    page.goto(f"/orders/{scene.order.public_id}/")
    for heading, button, state in (("Void it", "Void it", "void"), ("Let it stand again",) * 2 + ("issued",)):
        act = page.locator("details").filter(has=page.get_by_text(heading, exact=True)).first
        act.locator("summary").click()
        act.get_by_label("Why").fill("As agreed.")
        act.get_by_role("button", name=button).click()
        expect(page.locator("main").get_by_role("status")).to_be_visible()
        assert WorkOrder.objects.get(pk=scene.order.pk).state == state


def test_it_closes_from_paper_and_states_it_anew(page, scene):
    scene.issue()
    page.goto(f"/orders/{scene.order.public_id}/")
    page.get_by_role("link", name="Close it from paper").click()
    page.get_by_label("Percent done").fill("80")
    row = page.get_by_role("group", name="Hours, row 1", exact=True)
    row.get_by_label("Hours").fill("7:20")
    page.get_by_label("Confirmed by").fill("A. Lead")
    page.get_by_role("button", name="Close the order").click()
    expect(page.locator("main").get_by_role("status")).to_contain_text("is closed")
    page.get_by_role("link", name="State the close-out anew").click()
    expect(page.get_by_role("group", name="Hours, row 1", exact=True).get_by_label("Hours")).to_have_value("7:20")
    page.get_by_label("Percent done").fill("100")
    page.get_by_label("Why it is stated anew").fill("The rest was done on the way back.")
    page.get_by_role("button", name="State it anew").click()
    expect(page.locator("main").get_by_role("status")).to_contain_text("stated anew")
    found = [(row.revision, row.outcomes.get().percent_complete) for row in CloseOut.objects.order_by("revision")]
    assert found == [(1, 80), (2, 100)]
