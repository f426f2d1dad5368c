"""What a crew lead does on the screens of mixing, spraying, records and closing, as a person taps it."""

from typing import Any

from playwright.sync_api import Page

from tests.browser.tablet import Tablet


class Hand:
    """Taps and typed fields on one tablet, each counted as one."""

    def __init__(self, tablet: Tablet) -> None:
        self.tablet = tablet
        self.taps = 0

    @property
    def page(self) -> Page:
        return self.tablet.page

    def tap(self, name: str, role: Any = "button", *, exact: bool = False, nth: int = 0) -> None:
        self.page.get_by_role(role, name=name, exact=exact).nth(nth).click()
        self.taps += 1

    def link(self, name: str, *, nth: int = 0) -> None:
        self.tap(name, "link", nth=nth)

    def choose(self, name: str) -> None:
        self.page.get_by_role("radio", name=name, exact=len(name) < 4).check()
        self.taps += 1

    def tick(self, name: str) -> None:
        self.page.get_by_label(name).check()
        self.taps += 1

    def fill(self, name: str, value: str) -> None:
        self.page.get_by_label(name, exact=True).fill(value)
        self.taps += 1

    def on(self, heading: str) -> None:
        self.page.get_by_role("heading", level=1, name=heading).wait_for()

    def weather(self, temperature_f: str, wind_mph: str, *, when: str = "At the start") -> None:
        """On the screen of a weather check: measured, and no sign of an inversion."""
        self.on("Weather check")
        self.choose(when)
        self.fill("Air temperature", temperature_f)
        self.fill("Wind", wind_mph)
        self.choose("SW")
        self.choose("No")

    def mix(self, name: str) -> None:
        """On the screen of a new mix, all as the card says."""
        self.on("New mix")
        self.choose(name)
        self.tick("Everybody who mixes wears what the label asks for")
        self.tap("Save this mix")
        self.page.get_by_text("The container must carry this code").wait_for()

    def apply(self, patch: str, amount: str, *, area: str = "1200") -> None:
        """On the screen of an application."""
        self.on("Apply on order")
        self.choose(patch)
        self.fill("Equipment", "backpack")
        self.tap("Started at: now")
        self.tap("Ended at: now")
        self.fill("Volume of mix used", amount)
        self.fill("Area treated", area)
        self.tap("Save this application")
        self.page.get_by_role("heading", name="Where it went").wait_for()

    def queued(self, kind: str) -> list[dict[str, Any]]:
        rows = [row for row in self.tablet.rows("outbox") if row["kind"] == kind]
        return sorted(rows, key=lambda row: int(row["seq"]))

    def body(self, kind: str) -> dict[str, Any]:
        """Of the newest command of this kind that waits."""
        found: dict[str, Any] = self.queued(kind)[-1]["body"]
        return found
