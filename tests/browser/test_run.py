"""A background run followed in a real browser, with and without script."""

import pytest
from playwright.sync_api import expect

from orders.common.models.run import DONE, RUNNING
from orders.planning.models import PlanRun
from tests import build

pytestmark = pytest.mark.browser


@pytest.fixture
def run(transactional_db):
    return build.PlanRunFactory(state=RUNNING, progress_done=10, progress_total=100, progress_note="Placing visits")


def _now(run, **fields):
    PlanRun.objects.filter(pk=run.pk).update(**fields)


def test_it_moves_and_ends_with_the_result(page, run, enter):
    enter("coordinator")
    page.goto(f"/runs/{run.public_id}/")
    expect(page.get_by_text("10 of 100")).to_be_visible()
    _now(run, progress_done=60, progress_note="Improving")
    expect(page.get_by_text("60 of 100")).to_be_visible()
    assert page.get_by_role("progressbar").evaluate("it => it.value") == 60
    expect(page.locator("#run-heard")).to_have_text("At work, 50 percent")
    _now(run, state=DONE, cost_cents=123_456, left_out=[])
    expect(page.get_by_text("$1,234.56")).to_be_visible()
    expect(page.locator("#run-heard")).to_have_text("Done")
    expect(page.get_by_role("button", name="Cancel this run")).to_have_count(0)


def test_it_cancels(page, run, enter):
    enter("coordinator")
    page.goto(f"/runs/{run.public_id}/")
    page.get_by_role("button", name="Cancel this run").click()
    expect(page.get_by_role("heading", name="Stopping")).to_be_visible()
    run.refresh_from_db()
    assert run.cancel_asked


def test_it_says_that_the_server_is_silent_and_goes_on_when_it_answers(page, run, enter, complaints):
    enter("coordinator")
    page.goto(f"/runs/{run.public_id}/")
    page.route("**/state/", lambda route: route.abort())
    expect(page.locator(".trouble")).to_contain_text("The server does not answer")
    page.unroute("**/state/")
    expect(page.locator(".trouble")).to_be_hidden()
    assert all("ERR_FAILED" in told for told in complaints)
    complaints.clear()


def test_it_works_without_script(chromium, live_server, run, enter, context):
    enter("coordinator")
    plain = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    plain.add_cookies(context.cookies())
    page = plain.new_page()
    page.goto(f"/runs/{run.public_id}/")
    _now(run, progress_done=60)
    page.get_by_role("link", name="Look again").click()
    expect(page.get_by_text("60 of 100")).to_be_visible()
    plain.close()
