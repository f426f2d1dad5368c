"""From patches to a season's choices and its plan in a real browser: picked across pages, seen to fill, confirmed, put
back; a plan followed and stopped, what-ifs beside it, accepted."""

import re

import pytest
from playwright.sync_api import expect

from orders import flow
from orders.common.models.run import DONE, RUNNING
from orders.planning.models import ChoiceBatch, PlanRun, Prescription, Season
from tests import build
from tests.browser.choice_pages import choosing_ground
from tests.desk.pages.planned import plan_done, planned, proposed

pytestmark = pytest.mark.browser


@pytest.fixture
def ground(transactional_db):
    return choosing_ground()


@pytest.fixture
def made(transactional_db):
    return planned()


def _open(page, enter):
    enter("coordinator")
    page.goto(f"/seasons/{Season.objects.get().public_id}/prescribe/")


def _cell(page, patch, method):
    return page.locator(f'input[name="pick-{patch.pk}"][value="{method}"]')


def _firsts():
    rows = Prescription.objects.exclude(state="dropped").exclude(origin="follow_up")
    return sorted(rows.values_list("patch__code", "method__code"))


def test_it_picks_across_pages_fills_the_bars_confirms_and_puts_back(page, ground, enter, monkeypatch):
    monkeypatch.setattr("orders.desk.season.prescribe.PATCHES_A_PAGE", 2)
    _open(page, enter)
    filling = page.locator("#filling")
    expect(filling).to_contain_text("0 patches picked")
    _cell(page, ground.wide, "dormant-foliar").check()
    expect(filling).to_contain_text("1 patch picked")
    expect(page.locator("#picked-said")).to_contain_text("1 patch picked")
    assert float(filling.locator(".fill-comes").first.get_attribute("width")) > 0
    page.get_by_role("link", name="Later rows").click()
    expect(filling).to_contain_text("1 patch picked")
    _cell(page, ground.other, "spot-foliar").check()
    expect(filling).to_contain_text("2 patches picked")
    assert not Prescription.objects.exists()
    page.get_by_role("button", name="Look at it and confirm").click()
    page.get_by_label("Why not what is recommended?").fill("A class works there.")
    page.get_by_role("button", name=re.compile("^Make this choice")).click()
    expect(page.get_by_text("The choice is made.")).to_be_visible()
    assert _firsts() == [("H-02", "dormant-foliar"), ("H-03", "spot-foliar")]
    assert ChoiceBatch.objects.count() == 1
    page.get_by_role("button", name="Undo this choice").click()
    expect(page.get_by_text("The choice is undone")).to_be_visible()
    assert _firsts() == []


def test_it_picks_by_keyboard(page, ground, enter):
    _open(page, enter)
    page.locator(f'input[name="pick-{ground.wide.pk}"]:checked').focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator("#filling")).to_contain_text("1 patch picked")
    page.get_by_role("button", name="Start over").press("Enter")
    expect(page.locator("#filling")).to_contain_text("0 patches picked")


def test_it_works_without_script(chromium, live_server, ground, enter, context):
    enter("coordinator")
    plain = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    plain.add_cookies(context.cookies())
    page = plain.new_page()
    page.goto(f"/seasons/{Season.objects.get().public_id}/prescribe/")
    _cell(page, ground.wide, "dormant-foliar").check()
    page.get_by_role("button", name="Count what is picked").click()
    expect(page.locator("#filling")).to_contain_text("1 patch picked")
    page.get_by_role("button", name="Look at it and confirm").click()
    page.get_by_role("button", name=re.compile("^Make this choice")).click()
    expect(page.get_by_text("The choice is made.")).to_be_visible()
    assert _firsts() == [("H-02", "dormant-foliar")]
    plain.close()


def test_marks_of_the_list_lead_to_their_methods(page, ground, enter):
    enter("coordinator")
    page.goto("/patches/")
    page.get_by_role("checkbox", name=re.compile("H-02$")).check()
    page.get_by_role("button", name="Methods for the marked patches").click()
    expect(page.get_by_text("1 marked patch.")).to_be_visible()
    expect(page.locator("#cells tbody tr")).to_have_count(1)


def _now(run, **fields):
    PlanRun.objects.filter(pk=run.pk).update(**fields)


def test_a_plan_at_work_is_drawn_and_stopped(page, made, enter):
    run = build.PlanRunFactory(season=made.season, state=RUNNING, progress_total=100, bound_cents=7_100_000)
    enter("coordinator")
    page.goto(f"/plans/{run.public_id}/")
    expect(page.get_by_text("appears with its first plan")).to_be_visible()
    _now(run, progress_done=40, course=[[0, 9_400_000], [12, 8_600_000]], lost_cents=8_600_000)
    expect(page.get_by_text("No plan can lose less than $71,000.00")).to_be_visible()
    expect(page.locator("#run svg").first).to_be_visible()
    page.get_by_role("button", name="Stop and keep the best so far").click()
    expect(page.get_by_role("heading", name="Stopping")).to_be_visible()
    run.refresh_from_db()
    assert run.cancel_asked
    done = plan_done(made.season)
    _now(run, state=DONE, was_stopped=True, figures=done.figures, cost_cents=done.cost_cents, funds=done.funds)
    expect(page.get_by_text("The search was stopped early")).to_be_visible()


def test_a_what_if_is_asked_beside_the_plan_and_compared_when_it_is_done(page, made, enter):
    run = plan_done(made.season, title="Before the thaw")
    enter("coordinator")
    page.goto(f"/plans/{run.public_id}/")
    page.get_by_role("button", name="1 more crew").click()
    expect(page.locator("#beside")).to_contain_text("1 more crew: waiting")
    asked = PlanRun.objects.get(purpose="what_if")
    _now(asked, state=DONE, figures={**run.figures, "person_hours": 900.4}, cost_cents=run.cost_cents)
    expect(page.locator("#beside-table")).to_contain_text("+88")


def test_a_plan_is_accepted_after_it_said_what_that_does(page, made, enter, monkeypatch):
    run = plan_done(made.season, title="Before the thaw")
    proposed(run, made)
    monkeypatch.setattr(flow, "accept_plan", lambda **asked: [])
    enter("coordinator")
    page.goto(f"/plans/{run.public_id}/")
    page.get_by_role("link", name="Accept it…").click()
    expect(page.get_by_text("It is done whole or not at all.")).to_be_visible()
    page.get_by_role("button", name="Accept the plan").click()
    expect(page.get_by_text("The plan is accepted; 0 orders are drafted.")).to_be_visible()
