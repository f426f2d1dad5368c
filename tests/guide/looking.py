"""A reader of the demo: opens places as a guide names them, and says what stands there."""

import hashlib
import os
import re
from dataclasses import dataclass, field

from playwright.sync_api import Browser, BrowserContext, Locator, Page, Playwright, ViewportSize

from orders.desk.guide.parts import Guide, Mark, Picture, Place
from tests.guide.demo import Demo
from tests.guide.fixed import AT

CHROMIUM = os.environ.get("FENCEROW_CHROMIUM", "/usr/bin/chromium")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
SIZE = ViewportSize(width=1024, height=768)
PATIENCE_MS = 60_000
PIN = "246810"
PART = "main, .screen"
# What a page is made of, whatever its figures: no rows of tables, which are the demo's data.
STRUCTURE = "h1, h2, label, legend, button, thead th, summary"
NAMED = f"{STRUCTURE}, h3, a, dt, strong, tbody th"
SAID = """([where, what]) => [...document.querySelectorAll(where)].flatMap((part) => [...part.querySelectorAll(what)])
  .filter((one) => one.checkVisibility())
  .map((one) => `${one.closest("tbody") ? "row" : one.localName} ${one.innerText}`)"""
DATES = re.compile(
    r"\b(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?\b|"
    r"\b(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|"
    r"nov(?:ember)?|dec(?:ember)?)\b(?= ?#)",
    re.IGNORECASE,
)


@dataclass
class Reader:
    """Looks at the demo in the browser as people of its roles; each is logged in once."""

    chromium: Browser
    demo: Demo
    address: str
    pages: dict[str, Page] = field(default_factory=dict)

    def open(self, guide: Guide, place: Place) -> Page:
        page = self._tablet(guide, place) if place.tablet else self.desk(guide.login)
        page.goto(f"{self.address}{place.address}")
        page.locator("h1").first.wait_for()
        page.wait_for_load_state("networkidle")
        for selector in place.follow:
            link = page.locator(selector).first
            href = link.get_attribute("href")
            assert href, f"{place.address}: {selector} is no link"
            link.click()
            page.wait_for_url(f"**{href}")
            page.locator("h1").first.wait_for()
            page.wait_for_load_state("networkidle")
        page.wait_for_timeout(500)  # what comes in after the page itself: a map, a picture
        return page

    def _new(self) -> BrowserContext:
        context = self.chromium.new_context(viewport=SIZE, color_scheme="light", locale="en-US")
        context.set_default_timeout(PATIENCE_MS)
        return context

    def desk(self, login: str) -> Page:
        if login not in self.pages:
            page = self._new().new_page()
            page.goto(f"{self.address}/login/")
            page.get_by_label("Username").fill(login)
            page.get_by_label("Password").fill(f"demo-{login.replace('.', '-')}-2027")
            page.locator("main button").click()
            page.wait_for_url(lambda url: "login" not in url)
            self.pages[login] = page
        return self.pages[login]

    def _tablet(self, guide: Guide, place: Place) -> Page:
        """A tablet that is known, but for the screen where it is made known."""
        if place.address.endswith("/enroll"):
            return self._new_tablet()
        if "tablet" not in self.pages:
            page = self.pages["tablet"] = self._new_tablet()
            page.goto(f"{self.address}/tablet/#/enroll")
            page.get_by_label("Code from the office").fill(self.demo.code_for(guide.login))
            page.get_by_role("button", name="Use the code").click()
            for asked in ("Choose a PIN", "The same PIN"):
                page.get_by_label(asked).wait_for()
                page.locator("#pin").fill(PIN)
                page.locator(".pad").get_by_role("button", name="Next").click()
            page.locator("h3 a").first.wait_for()
        return self.pages["tablet"]

    def _new_tablet(self) -> Page:
        page = self._new().new_page()
        page.clock.set_fixed_time(AT)
        return page


def reader_of(player: Playwright, demo: Demo) -> Reader:
    return Reader(player.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS), demo, demo.serve())


def marked(page: Page, mark: Mark) -> Locator:
    """What a mark stands on."""
    whole = page.locator("body")
    if mark.kind == "field":
        return whole.get_by_label(mark.words, exact=True).first
    if mark.kind == "text":
        return whole.get_by_text(mark.words, exact=True).first
    return whole.get_by_role(mark.kind, name=mark.words, exact=True).locator("visible=true").first  # type: ignore[arg-type]


def missing(page: Page, picture: Picture) -> list[str]:
    """Marks that stand on nothing that can be seen."""
    return [mark.words for mark in picture.marks if not marked(page, mark).is_visible()]


def named(page: Page) -> set[str]:
    """The words of headings, fields, buttons, links and column heads that can be seen."""
    told: list[str] = page.evaluate(SAID, ["body", NAMED])
    return {" ".join(line.split()[1:]) for line in told}


def structure(page: Page) -> list[str]:
    """The headings, fields, buttons and column heads of a page without figures and dates, each once."""
    told: list[str] = page.evaluate(SAID, [PART, STRUCTURE])
    plain = [DATES.sub("@", re.sub(r"\d[\d,.]*", "#", " ".join(line.split()))) for line in told]
    return list(dict.fromkeys(line for line in plain if not line.startswith("row ")))


def digest(lines: list[str]) -> str:
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:16]
