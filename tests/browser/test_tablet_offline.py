"""The promise: what was saved on the tablet arrives, whole and once, whatever happens in between."""

import time
from io import BytesIO
from typing import Any

import pytest
from PIL import Image

from orders.costs.models import LedgerEntry
from orders.field.models import Command
from orders.workorders.models import CloseOut, Photo, TimedSpan, TimeEntry, WorkOrder
from tests.browser.faults import FAULTS, proxied, served
from tests.browser.tablet import PATIENCE_MS, QUIET
from tests.browser.tablet_closing import Hand

pytestmark = pytest.mark.browser
# Whether the office has all of a photo.
SENT = """async (id) => {
  const root = document.querySelector("script[type=module]").src.replace("core/start.js", "");
  return Boolean((await (await import(root + "core/store.js")).get("photos", id)).sent);
}"""


def picture(side=1800):
    """Noise does not compress: the photograph has to go in several parts."""
    made = Image.effect_noise((side, side), 120).convert("RGB")
    out = BytesIO()
    made.save(out, "JPEG", quality=90)
    return {"name": "patch.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}


def worked(tablet, order):
    """A day outside as a crew lead taps it: start, time, photograph, stop, close."""
    hand = Hand(tablet)
    tablet.go(f"/order/{order.public_id}/work")
    hand.tap("Start work for 3 people")
    tablet.page.get_by_role("button", name="Break for all").wait_for()
    tablet.page.locator("input[type=file]").first.set_input_files(picture())
    tablet.page.locator(".photo-small").first.wait_for()
    hand.tap("Stop all")
    tablet.page.get_by_role("link", name="Close order").wait_for()
    closed(tablet, order)


def closed(tablet, order):
    hand = Hand(tablet)
    tablet.go(f"/order/{order.public_id}/close")
    hand.tap("All patches 100%")
    hand.tap("Close the order")
    tablet.page.get_by_text("Closed by").wait_for()


def outside(tablets, world, address=""):
    tablet = tablets(address)
    tablet.enroll(world.lead_user)
    tablet.wait_for_orders(2)
    tablet.offline()
    return tablet


def arrive(tablet):
    """Press on as a person would, until nothing waits."""
    tablet.go("/unsent")
    for _ in range(120):
        if tablet.page.get_by_text("Everything on this tablet has been sent").is_visible():
            return
        tablet.call("core/sync.js", "syncNow")
        tablet.page.wait_for_timeout(500)
    raise AssertionError(f"still waiting: {tablet.rows('outbox')}")


def assert_once(order, sent):
    """Everything that was sent is there once: commands, time, the photograph, the close-out and its posting."""
    assert sorted(str(key) for key in Command.objects.values_list("public_id", flat=True)) == sorted(sent)
    assert [(row.kind, row.answer) for row in Command.objects.exclude(state="applied")] == []
    assert WorkOrder.objects.get(pk=order.pk).state == "closed"
    close_out = CloseOut.objects.get(order=order)
    minutes = sum(TimeEntry.objects.filter(close_out=close_out).values_list("minutes", flat=True))
    posted = LedgerEntry.objects.filter(order=order, category="labor")
    assert sum(posted.values_list("quantity", flat=True)) == minutes > 0
    assert posted.filter(reverses__isnull=False).count() == 0
    assert TimedSpan.objects.filter(order=order).count() == 3
    assert [photo.state for photo in Photo.objects.all()] == ["whole"]
    assert Photo.objects.get().size_bytes > 2 * 256 * 1024


def ids(tablet):
    return [row["id"] for row in tablet.rows("outbox")]


def test_it_loses_nothing_when_the_browser_is_killed_offline(tablets, world):
    tablet = outside(tablets, world)
    worked(tablet, world.pulling)
    sent = ids(tablet)
    tablet.kill()
    assert CloseOut.objects.count() == 0
    tablet.open("/unlock")
    tablet.unlock()
    arrive(tablet)
    assert_once(world.pulling, sent)


def test_it_keeps_what_was_queued_a_moment_before_the_kill(tablets, world):
    tablet = outside(tablets, world)
    said = tablet.queue("start-order", {}, order=str(world.pulling.public_id))
    tablet.kill()
    tablet.open("/unlock")
    tablet.offline()
    tablet.unlock()
    found = [row["id"] for row in tablet.rows("outbox")] or [str(row.public_id) for row in Command.objects.all()]
    assert found == [said["id"]]


def test_it_arrives_once_through_a_network_that_drops_doubles_delays_and_reorders(tablets, world, live_server):
    with proxied(live_server.url) as proxy:
        tablet = outside(tablets, world, proxy.address)
        worked(tablet, world.pulling)
        sent = ids(tablet)
        proxy.is_faulty = True
        tablet.offline(False)
        arrive(tablet)
        assert set(FAULTS) <= set(proxy.done)
        assert_once(world.pulling, sent)
        tablet.close()


def test_it_arrives_once_when_the_server_is_killed_in_the_middle(tablets, world, tmp_path):
    with served(tmp_path / "served") as server:
        tablet = outside(tablets, world, server.address)
        worked(tablet, world.pulling)
        sent = ids(tablet)
        tablet.page.once("response", lambda response: server.kill() if "/sync/" in response.url else None)
        tablet.offline(False)
        tablet.call("core/sync.js", "syncNow")
        tablet.page.wait_for_timeout(1_000)
        server.kill()
        assert tablet.rows("outbox") or not all(photo["sent"] for photo in tablet.rows("photos"))
        server.start()
        arrive(tablet)
        assert_once(world.pulling, sent)
        tablet.close()


def test_it_closes_an_order_once_when_two_tablets_close_it(tablets, world):
    one, other = outside(tablets, world), outside(tablets, world)
    for tablet in (one, other):
        closed(tablet, world.pulling)
    sent = [*ids(one), *ids(other)]
    one.offline(False)
    arrive(one)
    other.offline(False)
    other.call("core/sync.js", "syncNow")
    other.page.locator("#waiting").get_by_text("1 answer to look at").wait_for()
    assert CloseOut.objects.filter(order=world.pulling).count() == 1
    states = {str(row.public_id): row.state for row in Command.objects.filter(kind="close-order")}
    assert sorted(states.values()) == ["applied", "held"]
    assert set(states) <= set(sent)
    assert Command.objects.count() == len(sent)


LOGIN_PAGE = "<!doctype html><title>Welcome to the hot spot</title>"


@pytest.mark.parametrize("status", [200, 404, 511])
def test_it_takes_no_hot_spot_page_for_an_answer(tablets, world, status):
    tablet = outside(tablets, world)
    tablet.queue("start-order", {}, order=str(world.pulling.public_id))
    tablet.context.route(
        "**/tablet/sync/**", lambda it: it.fulfill(status=status, content_type="text/html", body=LOGIN_PAGE)
    )
    tablet.offline(False)
    tablet.call("core/sync.js", "syncNow")
    tablet.page.locator("#waiting").get_by_text("No connection").wait_for()
    assert len(tablet.rows("outbox")) == 1
    tablet.context.unroute("**/tablet/sync/**")
    arrive(tablet)


def test_it_halves_a_batch_that_is_too_large(tablets, world):
    tablet = outside(tablets, world)
    for _ in range(5):
        tablet.queue("start-order", {}, order=str(world.pulling.public_id))
    sizes = []

    def large(it):
        sizes.append(len(it.request.post_data_json["commands"]))
        told = {"title": "Payload too large", "status": 413, "code": "too_large"}
        if sizes[-1] > 2:
            it.fulfill(status=413, content_type="application/problem+json", json=told)
        else:
            it.continue_()

    tablet.context.route("**/tablet/sync/commands", large)
    tablet.offline(False)
    arrive(tablet)
    assert sizes == [5, 3, 2, 3, 2, 1]
    assert Command.objects.count() == 5


def test_it_waits_as_long_as_the_office_asks(tablets, world):
    tablet = outside(tablets, world)
    asked = []

    def busy(it):
        asked.append(it.request.url)
        told = {"title": "Try again soon", "status": 503, "code": "busy"}
        it.fulfill(status=503, headers={"Retry-After": "120"}, content_type="application/problem+json", json=told)

    tablet.context.route("**/tablet/sync/**", busy)
    tablet.queue("start-order", {}, order=str(world.pulling.public_id))
    tablet.offline(False)
    end = time.monotonic() + PATIENCE_MS / 1000
    while not asked:  # the line's return may be noticed a moment later
        assert time.monotonic() < end, "the office was never asked"
        tablet.call("core/sync.js", "syncNow")
        tablet.page.wait_for_timeout(50)
    for _ in range(3):
        tablet.call("core/sync.js", "syncNow")
        tablet.page.wait_for_timeout(200)
    assert len(asked) == 1
    assert len(tablet.rows("outbox")) == 1


def test_a_question_that_hangs_ends_when_the_network_goes(tablets, world):
    """The tablet's own patience is a minute; whoever walks back into reach does not wait for it."""
    tablet = outside(tablets, world)
    held: list[Any] = []

    def hang(it):
        if held:
            it.continue_()
        held.append(it)

    tablet.context.route("**/tablet/sync/commands", hang)
    tablet.offline(False)
    tablet.queue("start-order", {}, order=str(world.pulling.public_id))
    end = time.monotonic() + 2 * PATIENCE_MS / 1000
    while not held:
        assert time.monotonic() < end, "the office was never asked"
        tablet.call("core/sync.js", "syncNow")
        tablet.page.wait_for_timeout(50)
    tablet.offline()
    tablet.until(QUIET)
    tablet.offline(False)
    tablet.page.locator("#waiting").get_by_text("All sent").wait_for()
    assert Command.objects.count() == 1


FULL = """() => {
  const real = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (value, key) {
    if (this.name === "outbox") throw new DOMException("no room", "QuotaExceededError");
    return real.call(this, value, key);
  };
}"""


def test_it_says_when_something_could_not_be_saved(tablets, world):
    tablet = outside(tablets, world)
    tablet.show("/check-in")
    tablet.page.evaluate(FULL)
    tablet.page.get_by_role("button", name="Check in", exact=True).click()
    asked = tablet.page.get_by_role("dialog")
    asked.get_by_text("Not saved").wait_for()
    assert "no room" in asked.inner_text()
    asked.get_by_role("button", name="I have read it").click()
    assert tablet.page.get_by_role("heading", level=1, name="Check in or out").is_visible()
    assert tablet.rows("outbox") == []
    assert tablet.complaints == ["no room"]
    tablet.complaints.clear()


def photographed(tablet, world, *pictures):
    tablet.go(f"/order/{world.pulling.public_id}/work")
    for count, taken in enumerate(pictures, start=1):
        tablet.page.locator("input[type=file]").first.set_input_files(taken)
        tablet.until("count => document.querySelectorAll('.photo-small').length === count", count)


def test_it_sends_the_other_photos_when_the_office_refuses_one(tablets, world):
    tablet = outside(tablets, world)
    photographed(tablet, world, picture(400), picture(400))
    refused, other = sorted(row["meta"]["id"] for row in tablet.rows("photos"))

    def no(it):
        if it.request.method == "PATCH":
            it.fulfill(status=400, content_type="application/problem+json", json={"title": "No", "code": "invalid"})
        else:
            it.continue_()

    tablet.context.route(f"**/tablet/sync/photos/{refused}", no)
    tablet.offline(False)
    tablet.call("core/sync.js", "syncNow", {"fresh": True})
    tablet.until(SENT, other)
    tablet.until(QUIET)
    assert {row["meta"]["id"]: bool(row.get("sent")) for row in tablet.rows("photos")} == {refused: False, other: True}
    tablet.context.unroute(f"**/tablet/sync/photos/{refused}")
    arrive(tablet)
    assert {photo.state for photo in Photo.objects.all()} == {"whole"}


def test_it_sends_smaller_parts_where_one_is_too_large(tablets, world):
    tablet = outside(tablets, world)
    photographed(tablet, world, picture())
    sizes = []

    def small(it):
        sizes.append(len(it.request.post_data_buffer or b""))
        if it.request.method == "PATCH" and sizes[-1] > 100_000:
            it.fulfill(status=413, body="")
        else:
            it.continue_()

    tablet.context.route("**/tablet/sync/photos/*", small)
    tablet.offline(False)
    arrive(tablet)
    assert max(sizes) > 100_000
    assert {photo.state for photo in Photo.objects.all()} == {"whole"}
