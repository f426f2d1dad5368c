"""The tablet's shell in a real browser: enrolling, unlocking, two people, opening offline, new versions, revocation."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import expect

from orders.commands.export import export_import
from orders.common.clock import now
from orders.common.stamp import Stamp
from orders.field.models import Command, Device
from orders.field.services.devices import device_revoke
from orders.tablet.shell_files import shell
from tests import build
from tests.browser.tablet import PIN
from tests.browser.tablet_checks import faults

pytestmark = pytest.mark.browser
STARTED = "start-order"
VERSION = "() => document.querySelector('script[type=module]').src.split('/').at(-3)"


def stamp_of(user):
    return Stamp(by=user, at=now(), reason="Lost in the field")


def test_it_enrolls_by_a_code_and_fetches_the_orders(tablet, world):
    tablet.wait_for_orders(2)
    device = Device.objects.get()
    assert [one.user for one in device.device_users.all()] == [world.lead_user]
    assert tablet.page.get_by_role("link", name="All sent").is_visible()


def test_it_takes_the_code_from_the_address(tablets, world):
    tablet = tablets()
    tablet.open("/enroll/ABCD2345")
    assert tablet.page.get_by_label("Code from the office").input_value() == "ABCD2345"
    tablet.page.get_by_role("button", name="Use the code").click()
    tablet.page.get_by_text("There is no such code").wait_for()


def test_it_opens_offline_after_the_first_load(tablet):
    tablet.offline()
    tablet.page.reload()
    tablet.ready()
    assert tablet.page.get_by_text("No connection").is_visible()
    opened = tablet.page.evaluate("() => performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd")
    print(f"opened offline in {opened:.0f} ms")


def test_it_asks_for_the_pin_after_the_browser_was_closed(tablet):
    tablet.close()
    tablet.open("/settings")
    tablet.type_pin("999999", "Open")
    tablet.page.get_by_text("That PIN is not right").wait_for()
    tablet.unlock()
    tablet.page.get_by_role("heading", name="Settings").wait_for()


def test_it_makes_guessing_slow_and_never_wipes(tablet, world):
    tablet.queue(STARTED, {}, order=str(world.pulling.public_id))
    tablet.page.get_by_role("button", name="Lock").click()
    for _ in range(5):
        tablet.type_pin("999999", "Open")
        expect(tablet.page.locator("#pin")).to_have_value("")  # emptied by the answer
    tablet.page.get_by_text("Too many wrong tries").wait_for()
    tablet.type_pin(PIN, "Open")
    assert tablet.page.get_by_text("Too many wrong tries").is_visible()
    assert len(tablet.rows("package")) > 0


def test_it_locks_by_itself_and_keeps_what_was_saved(tablet, world):
    tablet.offline()
    tablet.queue(STARTED, {}, order=str(world.pulling.public_id))
    tablet.page.evaluate("""() => {
      const real = Date.now;
      Date.now = () => real() + 16 * 60_000;
    }""")
    tablet.call("core/session.js", "lockIfIdle")
    tablet.page.locator("#pin").wait_for()
    assert [row["kind"] for row in tablet.rows("outbox")] == [STARTED]


def test_it_keeps_two_people_apart(tablet, world):
    other = build.UserFactory(first_name="Rowan", last_name="Sedge", roles=["crew_lead"])
    tablet.offline()
    tablet.queue(STARTED, {}, order=str(world.pulling.public_id))
    tablet.offline(False)
    tablet.enroll(other, pin="1357")
    tablet.offline()
    tablet.queue(STARTED, {}, order=str(world.pulling.public_id))
    users = [row["user"] for row in tablet.rows("outbox")] or list(Command.objects.values_list("user__public_id"))
    assert users[-1] == str(other.public_id)
    tablet.page.get_by_role("button", name="Lock").click()
    tablet.page.get_by_label("Rowan Sedge").check()
    tablet.unlock("1357")
    tablet.page.get_by_role("button", name="Settings of Rowan Sedge").wait_for()
    assert Device.objects.count() == 1


def served_as(monkeypatch, version):
    """From now on the server has another version of the same app."""
    other = replace(shell(), version=version)
    monkeypatch.setattr("orders.tablet.views.shell.shell", lambda: other)


def test_it_waits_with_a_new_version_until_nothing_is_open_for_entry(tablet, monkeypatch):
    old = tablet.page.evaluate(VERSION)
    tablet.go("/check-in")
    served_as(monkeypatch, "0123456789abcdef")
    tablet.page.evaluate("async () => (await navigator.serviceWorker.getRegistration('/tablet/')).update()")
    tablet.page.get_by_text("A new version is ready").wait_for()
    assert tablet.page.evaluate(VERSION) == old
    tablet.page.evaluate("() => { location.hash = '/'; }")
    tablet.until(f"() => ({VERSION})() === '0123456789abcdef'")
    tablet.page.get_by_role("button", name="Lock").wait_for()


def test_it_waits_with_a_new_version_for_another_tab(tablet, monkeypatch):
    old = tablet.page.evaluate(VERSION)
    first = tablet.page
    tablet.open("/unlock")
    tablet.unlock()
    tablet.go("/check-in")
    served_as(monkeypatch, "0123456789abcdef")
    first.evaluate("async () => (await navigator.serviceWorker.getRegistration('/tablet/')).update()")
    first.get_by_text("A new version is ready").wait_for()
    first.wait_for_timeout(300)
    assert first.evaluate(VERSION) == old
    tablet.go("/")
    tablet.until(f"() => ({VERSION})() === '0123456789abcdef'")


def test_it_drops_the_orders_of_a_revoked_tablet_and_keeps_what_waits(tablet, world, tmp_path):
    tablet.wait_for_orders(2)
    tablet.offline()
    tablet.queue(STARTED, {}, order=str(world.pulling.public_id))
    device_revoke(device=Device.objects.get(), stamp=stamp_of(world.coordinator))
    tablet.offline(False)
    tablet.call("core/sync.js", "syncNow")
    tablet.go("/unsent")
    tablet.page.get_by_text("The office has revoked this tablet").wait_for()
    assert tablet.rows("package") == []
    assert len(tablet.rows("outbox")) == 1
    with tablet.page.expect_download() as saved:
        tablet.page.get_by_role("button", name="Save as a file").click()
    saved.value.save_as(tmp_path / "unsent.json")
    told = json.loads((tmp_path / "unsent.json").read_text())
    assert [one["kind"] for one in told["commands"]] == [STARTED]
    export_import(data=(tmp_path / "unsent.json").read_bytes(), stamp=stamp_of(world.coordinator))
    assert [command.kind for command in Command.objects.all()] == [STARTED]


def test_it_goes_on_with_a_new_code_after_revocation(tablet, world):
    tablet.offline()
    tablet.queue(STARTED, {}, order=str(world.pulling.public_id))
    device_revoke(device=Device.objects.get(), stamp=stamp_of(world.coordinator))
    tablet.offline(False)
    tablet.call("core/sync.js", "syncNow")
    tablet.until("() => document.getElementById('waiting').className === 'state-bad'")
    tablet.enroll(world.lead_user)
    tablet.page.locator("#waiting").get_by_text("All sent").wait_for()
    assert list(Command.objects.values_list("kind", "state")) == [(STARTED, "applied")]


def test_it_says_when_something_has_waited_for_more_than_a_day(tablet, world):
    tablet.offline()
    envelope = tablet.queue(STARTED, {}, order=str(world.pulling.public_id))
    old = (datetime.now(UTC) - timedelta(hours=30)).isoformat()
    tablet.call("core/store.js", "put", "outbox", {**envelope, "queued_at": old}, envelope["seq"])
    tablet.go("/unsent")
    tablet.page.get_by_text("The oldest has waited for 30 hours").wait_for()
    assert tablet.page.locator("#waiting").get_attribute("class") == "state-bad"


def test_it_shows_what_the_office_holds(tablet, world):
    tablet.queue("close-order", {"nonsense": True}, order=str(world.pulling.public_id))
    tablet.page.locator("#waiting").get_by_text("1 answer to look at").wait_for()
    tablet.go("/unsent")
    tablet.page.get_by_role("heading", name="Close-out").wait_for()
    tablet.page.get_by_role("button", name="Seen, take it off").click()
    tablet.page.get_by_role("dialog").get_by_role("button", name="Seen").click()
    tablet.page.locator("#waiting").get_by_text("All sent").wait_for()
    assert tablet.rows("answers") == []


SCREENS = ("/", "/unsent", "/settings", "/enroll", "/unlock")


@pytest.mark.parametrize("language", ["English", "Español"])
def test_it_passes_every_check_on_every_screen_of_the_shell(tablet, world, language):
    tablet.queue("close-order", {"nonsense": True}, order=str(world.pulling.public_id))
    tablet.page.locator("#waiting.state-bad").wait_for()
    tablet.offline()
    tablet.queue(STARTED, {}, order=str(world.pulling.public_id))
    tablet.go("/settings")
    tablet.page.get_by_role("button", name=language).click()
    assert tablet.page.evaluate("() => document.documentElement.lang") == language[:2].lower()
    found = {}
    for screen in SCREENS:
        tablet.show(screen)
        if wrong := faults(tablet.page):
            found[screen] = wrong
    assert found == {}
