"""A new program in a real browser, from an empty database to an issued order, by the set-up guide and nothing else: the
first login by its code, places, rates, people, a survey file with columns of its own, choices, a plan, orders; once by
hand and machine alone, once with herbicide, whose orders the license and the label keep back until they allow it."""

from collections import Counter
from datetime import timedelta

import pytest
from django.core.cache import cache
from playwright.sync_api import Page, expect

from orders.common.clock import now
from orders.common.models import User
from orders.crews.models import Qualification
from orders.workorders.models import WorkOrder
from tests.browser import first_season as walk

pytestmark = pytest.mark.browser

PRODUCT = "Ketterline G-480"
LABEL = {
    "code": "ketterline-g",
    "name": PRODUCT,
    "registration_number": "99999-417",
    "label_version": "2026-02",
    "label_reference": "Binder in the shed",
    "reviewed_by": "Di Elm",
    "ingredients-0-ingredient": "glyphosate",
    "ingredients-0-ae_g_per_l": "4",
    "uses-0-max_percent_vv": "50",
    "uses-0-reference": "Page 3",
    "caps-0-ingredient": "glyphosate",
    "caps-0-kg_ae_per_ha": "8",
    "caps-0-reference": "Page 2",
    "protective_equipment": "Gloves, long sleeves",
    "entry_rule": "Keep out until dry",
}
MIX = {
    "code": "stumps",
    "name": "Stumps, half strength",
    "tank_l": "0.25",
    "stem_dose_ml_per_cm": "5",
    "parts-0-percent_vv": "50",
}


def _held(page: Page, name: str) -> None:
    """The page of what somebody may do."""
    page.goto("/setup/people/")
    page.locator("main").get_by_role("link", name=name, exact=True).click()
    page.get_by_role("heading", name=f"What {name} may do").wait_for()


def _licensed(page: Page) -> None:
    walk.guide(page, "Say what people may do")
    _held(page, "Di Elm")
    page.get_by_role("link", name="Add a license or training").click()
    for name, value in (("kind", "Certified applicator"), ("jurisdiction", "Kentucky")):
        page.locator(f"#id_{name}").select_option(label=value)
    page.locator("#id_number").fill("KY-00417")
    walk.press(page)
    expect(page.get_by_text("is on record.")).to_be_visible()


def _herbicide(page: Page) -> None:
    """A product of an invented name with the facts of its label, the mix of it, what that is for, and its price."""
    walk.guide(page, "Add a product")
    for name, value in (*LABEL.items(), ("reviewed_on", _day(2))):
        page.locator(f"#id_{name}").fill(value)
    page.locator("main input[name=states][value=KY]").check()
    page.locator("#id_uses-0-method").select_option(label="Cut-stem treatment")
    page.locator("#id_signal_word").select_option(label="CAUTION")
    walk.press(page)
    expect(page.get_by_text("What it is used in is added as a mix next.")).to_be_visible()
    walk.guide(page, "Add a mix")
    for name, value in MIX.items():
        page.locator(f"#id_{name}").fill(value)
    page.locator("#id_parts-0-product").select_option(label=PRODUCT)
    page.get_by_label("Cut-stem treatment").check()
    expect(page.locator("#load")).to_contain_text(PRODUCT)
    walk.press(page)
    assert f"{PRODUCT} has no price" in walk.step(page, "Products, labels, mixes and prices")
    walk.next_page(page)
    expect(page.locator("#id_of")).to_have_value("product:ketterline-g")
    for name, value in (("price", "12.40"), ("source", "Quote of November")):
        page.locator(f"#id_{name}").fill(value)
    walk.press(page)
    assert "optional" not in walk.step(page, "Products, labels, mixes and prices")


def _with_herbicide(page: Page) -> None:
    """The stems are cut and treated; where nobody can do what is recommended, the best without herbicide."""
    expect(page.get_by_role("heading", name="Recommended, and nobody can do it yet")).to_be_visible()
    page.locator("button[name=everywhere][value=cut-stem]").click()
    page.wait_for_load_state()
    page.get_by_role("button", name="Pick the best without herbicide there").click()
    page.wait_for_load_state()
    expect(page.locator("#filling")).to_contain_text("3 patches picked")


def _order(page: Page) -> None:
    """The page of the order with herbicide."""
    order = WorkOrder.objects.filter(order_visits__visit__shares__prescription__method__uses_herbicide=True).first()
    assert order is not None
    page.goto(f"/orders/{order.public_id}/")


def _license_to(page: Page, day: str) -> None:
    _held(page, "Di Elm")
    page.get_by_role("link", name="Certified applicator").click()
    page.locator("#id_last_day").fill(day)
    walk.press(page)


def _day(days_ago: int) -> str:
    return (now().date() - timedelta(days=days_ago)).isoformat()


def _yearly_limit(page: Page, pounds_an_acre: str, days_ago: int) -> None:
    """Facts that differ from those reviewed ask for a review of another day."""
    page.goto("/products/")
    page.get_by_role("link", name=PRODUCT).click()
    page.get_by_role("link", name="Change what the label says").click()
    page.locator("#id_caps-0-kg_ae_per_ha").fill(pounds_an_acre)
    page.locator("#id_reviewed_on").fill(_day(days_ago))
    walk.press(page)


def _kept_back(page: Page) -> None:
    """No license on the day, then a label that is exceeded: each is refused in words that say what to do."""
    _order(page)
    expect(page.get_by_role("heading", name="Label card")).to_be_visible()
    expect(page.locator("main")).to_contain_text(f"{PRODUCT}, 99999-417, CAUTION")
    last_day = Qualification.objects.get().last_day
    _license_to(page, _day(0))
    told = _refused(page)
    assert "needs Certified applicator in KY" in told
    page.get_by_role("link", name="Look at who holds what").click()
    page.wait_for_url("**/setup/people/")
    _license_to(page, last_day.isoformat())
    _yearly_limit(page, "0.01", 1)
    told = _refused(page)
    assert "The label is the law." in told
    assert "Nobody may let this pass. Choose another mix, method or day." in told
    _yearly_limit(page, LABEL["caps-0-kg_ae_per_ha"], 0)
    _order(page)
    expect(page.get_by_role("heading", name="Nothing keeps it from being issued")).to_be_visible()


def _refused(page: Page) -> str:
    """What the order says that keeps it back, which the issue itself says as well."""
    walk.issued(page)
    assert "refused" in page.locator("#issued").inner_text()
    _order(page)
    assert page.get_by_role("button", name="Issue it").count() == 0
    return page.locator("main").inner_text()


def test_it_goes_from_nothing_to_an_issued_order(page, live_server, transactional_db):
    cache.clear()
    page.set_default_timeout(60_000)  # a whole program is set up: a busy machine is slow, not wrong
    walk.first_login(page)
    assert User.objects.get().username == "ann"
    walk.ground(page)
    walk.rates(page)
    walk.people(page)
    walk.money(page)
    walk.surveyed(page, walk.PLAIN)
    walk.season(page)
    walk.accepted(page)
    walk.issued(page)
    assert WorkOrder.objects.filter(state="issued").exists()
    assert "done" in walk.step(page, "Issue the orders")
    assert "all done" in page.locator("main dl.figures").inner_text()
    assert page.request.get(f"{live_server.url}/setup/first/").status == 404
    walk.printed(page, live_server.url)


def test_with_herbicide_the_license_and_the_label_keep_the_orders_back(page, live_server, transactional_db, capsys):
    cache.clear()
    page.set_default_timeout(60_000)
    counted = walk.counted(page)
    walk.first_login(page)
    walk.ground(page)
    walk.rates(page)
    walk.people(page)
    _licensed(page)
    _herbicide(page)
    walk.money(page)
    walk.surveyed(page, walk.WITH_STEMS)
    walk.season(page, _with_herbicide)
    walk.accepted(page)
    far = Counter(counted)
    _kept_back(page)
    kept_back = counted - far
    walk.issued(page)
    assert set(WorkOrder.objects.values_list("state", flat=True)) == {"issued"}
    assert "done" in walk.step(page, "Issue the orders")
    assert "all done" in page.locator("main dl.figures").inner_text()
    with capsys.disabled():
        print(f"\nfrom the first login to the plan: {dict(far)}; refused and put right: {dict(kept_back)}")
