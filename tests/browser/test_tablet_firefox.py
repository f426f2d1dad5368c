"""The tablet's app in Firefox: it enrolls, opens with no network, and keeps what was saved through a kill."""

import pytest

from orders.common.clock import now
from orders.common.stamp import Stamp
from orders.field.models import Command
from orders.field.services.devices import enrollment_code_make
from tests.browser.faults import proxied
from tests.browser.firefox import FIREFOX, Firefox
from tests.browser.tablet import PIN

pytestmark = [pytest.mark.browser, pytest.mark.skipif(not FIREFOX, reason="Firefox is not installed")]
READY = "document.documentElement.dataset.ready === 'yes' && document.querySelector('h1')"
TAP = """
  const button = [...document.querySelectorAll("button")].find(one => one.textContent === given[0]);
  button.click();
"""
TYPE = """
  const input = document.querySelector(given[0]);
  input.value = given[1];
  input.dispatchEvent(new Event("input"));
"""
# The remote protocol gets modules of its own, apart from the page's: they share what is kept and nothing else.
STORE = '(await import(document.querySelector("script[type=module]").src.replace("start.js", "store.js")))'


@pytest.fixture
def firefox(tmp_path):
    made = Firefox(tmp_path / "firefox")
    made.start()
    yield made
    made.kill()


def pin(firefox, word):
    firefox.run(TYPE, "#pin", PIN)
    firefox.run(TAP, word)


def enrolled(firefox, user):
    _, code = enrollment_code_make(user=user, stamp=Stamp(by=user, at=now()))
    firefox.run("location.hash = '/enroll'")
    firefox.until(f"{READY} && document.querySelector('input')")
    firefox.run(TYPE, "input", code)
    firefox.run(TAP, "Use the code")
    for label in ("Choose a PIN", "The same PIN"):
        firefox.until(f"document.querySelector('.pin label')?.textContent.startsWith('{label}')")
        pin(firefox, "Next")
    firefox.until("location.hash === '#/' && navigator.serviceWorker.controller")


def test_it_keeps_what_was_saved_through_a_kill_with_no_network(firefox, world, live_server):
    with proxied(live_server.url) as proxy:
        firefox.go(f"{proxy.address}/tablet/")
        firefox.until(READY)
        enrolled(firefox, world.lead_user)
        firefox.until(f"(await {STORE}.keys('package')).filter(key => key.startsWith('orders/')).length === 2")
        proxy.is_down = True
        firefox.run("location.hash = given[0]", f"/order/{world.pulling.public_id}/work")
        start = "Start work for 3 people"
        firefox.until(f"[...document.querySelectorAll('button')].some(one => one.textContent === '{start}')")
        firefox.run(TAP, start)
        firefox.until("document.getElementById('waiting').textContent.includes('1 to be sent')")
        firefox.kill()
        firefox.start()
        firefox.go(f"{proxy.address}/tablet/")
        firefox.until(f"{READY} && document.querySelector('#pin')")
        pin(firefox, "Open")
        firefox.until("location.hash === '#/'")
        assert [row["kind"] for row in firefox.run(f"return {STORE}.all('outbox');")] == ["start-order"]
        proxy.is_down = False
        firefox.run("location.hash = '/unsent'")
        firefox.until("document.querySelector('.main-button')?.textContent === 'Send now'")
        firefox.run(TAP, "Send now")
        firefox.until("document.getElementById('waiting').textContent.includes('All sent')")
    assert Command.objects.get().kind == "start-order"
