"""A tablet for tests: Chromium on a profile folder of its own, so that killing it and opening it again is real."""

import os
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Error, Page, Playwright, ViewportSize

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.field.services.devices import enrollment_code_make
from tests import build
from tests.build.tablet_world import TabletWorld, tablet_world

PIN = "246810"
UPRIGHT = ViewportSize(width=768, height=1024)
ACROSS = ViewportSize(width=1024, height=768)
# Calls a function of one of the app's modules in the page; modules are named by their place, as in the app itself.
CALL = """async ([module, name, given]) => {
  const root = document.querySelector("script[type=module]").src.replace("core/start.js", "");
  return (await import(root + module))[name](...given);
}"""
# Whether the tablet has done talking to the office for now.
QUIET = """async () => {
  const root = document.querySelector("script[type=module]").src.replace("core/start.js", "");
  const { sync } = await import(root + "core/sync.js");
  return !sync.busy;
}"""
# Whether nobody is reached: a browser may be a moment late to be offline.
GONE = """async () => {
  try {
    await fetch("/login/", { method: "HEAD", cache: "no-store" });
    return false;
  } catch {
    return true;
  }
}"""
PATIENCE_MS = 30_000


class Tablet:
    def __init__(self, player: Playwright, folder: Path, address: str, *, chromium: str, arguments: list[str]) -> None:
        self.player, self.folder, self.address = player, folder, address
        self.chromium, self.arguments = chromium, arguments
        self.context: BrowserContext | None = None
        self.complaints: list[str] = []

    def open(self, path: str = "/", *, viewport: ViewportSize = UPRIGHT, language: str = "en-US") -> Page:
        """Start the browser, or a page more of it, and wait until the app stands."""
        if self.context is None:
            self.context = self.player.chromium.launch_persistent_context(
                str(self.folder),
                executable_path=self.chromium,
                args=self.arguments,
                base_url=self.address,
                viewport=viewport,
                has_touch=True,
                locale=language,
                accept_downloads=True,
            )
            self.context.set_default_timeout(PATIENCE_MS)
            self.page = self.context.pages[0]
        else:
            self.page = self.context.new_page()
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("console", self._heard)
        self.page.goto(f"{self.address}/tablet/#{path}")
        self.ready()
        return self.page

    def _heard(self, said: Any) -> None:
        if said.type in {"error", "warning"} and "Failed to load resource" not in said.text:
            self.complaints.append(said.text)

    def until(self, so: str, given: Any = None) -> None:
        """Poll a piece of JavaScript: the page's policy forbids what Playwright's own waiting would need."""
        end = time.monotonic() + PATIENCE_MS / 1000
        while not self._is(so, given):
            assert time.monotonic() < end, f"never so: {so}"
            self.page.wait_for_timeout(50)

    def _is(self, so: str, given: Any) -> bool:
        try:
            return bool(self.page.evaluate(so, given))
        except Error:
            return False  # the page is loading again

    def ready(self) -> None:
        self.page.wait_for_selector("html[data-ready=yes]", state="attached")
        self.page.wait_for_selector("h1")

    def go(self, path: str) -> None:
        self.page.evaluate("path => { location.hash = path; }", path)
        self.page.wait_for_selector("h1")

    def show(self, path: str) -> None:
        """Go there, and wait until all of the screen is drawn."""
        self.go(path)
        self.page.wait_for_selector(f".screen[data-path='{path}']", state="attached")

    def call(self, module: str, name: str, *given: Any) -> Any:
        return self.page.evaluate(CALL, [module, name, list(given)])

    def rows(self, store: str) -> list[Any]:
        found: list[Any] = self.call("core/store.js", "all", store)
        return found

    def queue(self, kind: str, body: dict[str, Any], **options: Any) -> dict[str, Any]:
        """What a screen does when something is entered."""
        envelope: dict[str, Any] = self.call("core/outbox.js", "queue", kind, body, options)
        return envelope

    def type_pin(self, pin: str, word: str) -> None:
        self.page.locator("#pin").fill(pin)
        self.page.locator(".pad").get_by_role("button", name=word).click()

    def enroll(self, user: User, *, pin: str = PIN) -> None:
        """With a code as the desk gives it; waits until the orders are there."""
        _, code = enrollment_code_make(user=user, stamp=Stamp(by=user, at=now()))
        if self.context is None:
            self.open("/enroll")
        else:
            self.go("/enroll")
        self.page.get_by_label("Code from the office").fill(code)
        self.page.get_by_role("button", name="Use the code").click()
        self.page.get_by_label("Choose a PIN").wait_for()
        self.type_pin(pin, "Next")
        self.page.get_by_label("The same PIN").wait_for()
        self.type_pin(pin, "Next")
        self.until("() => location.hash === '#/'")
        self.until("() => navigator.serviceWorker.controller !== null")

    def wait_for_orders(self, count: int = 1) -> None:
        end = time.monotonic() + PATIENCE_MS / 1000
        while sum(key.startswith("orders/") for key in self.call("core/store.js", "keys", "package")) < count:
            assert time.monotonic() < end, "the orders never came"
            self.page.wait_for_timeout(50)
        self.until(QUIET)  # a question cut off half way would hold the tablet's patience for a minute

    def unlock(self, pin: str = PIN) -> None:
        self.page.locator("#pin").wait_for()
        self.type_pin(pin, "Open")
        self.until("() => !location.hash.includes('unlock')")

    def offline(self, is_so: bool = True) -> None:
        assert self.context is not None
        self.context.set_offline(is_so)
        if is_so:
            self.until(GONE)

    def sent(self) -> None:
        """Send now, and wait until the tablet says that nothing waits."""
        self.call("core/sync.js", "syncNow")
        self.page.locator("#waiting").get_by_text("All sent").wait_for()

    def kill(self) -> None:
        """As a dead battery does it: every process of this browser at once."""
        for entry in Path("/proc").iterdir():
            if entry.name.isdigit() and self._is_own(entry):
                os.kill(int(entry.name), signal.SIGKILL)
        self.close()

    def _is_own(self, entry: Path) -> bool:
        try:
            return f"--user-data-dir={self.folder}" in (entry / "cmdline").read_bytes().decode().split("\0")
        except OSError:
            return False

    def close(self) -> None:
        if self.context is not None:
            with suppress(Error):  # it was killed
                self.context.close()
        self.context = None
        for lock in self.folder.glob("Singleton*"):
            lock.unlink()


@pytest.fixture
def world(transactional_db: None) -> TabletWorld:
    build.FundFactory(code="SUSPENSE", is_suspense=True)  # costs cannot be posted without one
    return tablet_world()


@pytest.fixture
def tablets(player: Playwright, tmp_path: Path, live_server: Any) -> Iterator[Callable[..., Tablet]]:
    """Makes tablets, each with its own folder. What a page complains of fails the test."""
    from tests.browser.conftest import ARGUMENTS, CHROMIUM

    made: list[Tablet] = []

    def one(address: str = "") -> Tablet:
        where = (address or live_server.url).replace("127.0.0.1", "localhost")
        tablet = Tablet(player, tmp_path / f"tablet-{len(made)}", where, chromium=CHROMIUM, arguments=ARGUMENTS)
        made.append(tablet)
        return tablet

    yield one
    for tablet in made:
        tablet.close()
    assert [complaint for tablet in made for complaint in tablet.complaints] == []


@pytest.fixture
def tablet(tablets: Callable[..., Tablet], world: TabletWorld) -> Tablet:
    """One that the crew's lead has enrolled."""
    made = tablets()
    made.enroll(world.lead_user)
    return made
