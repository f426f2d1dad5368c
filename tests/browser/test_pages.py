"""Every page, looked at by machine: accessibility, light and dark; reflow and the size of targets, narrow and wide."""

import pytest
from axe_playwright_python.sync_playwright import Axe

pytestmark = pytest.mark.browser
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
COLORS = {"runOnly": {"type": "rule", "values": ["color-contrast"]}}  # all that a dark page can do differently
WIDTHS = (320, 768, 1024, 1440)
# Targets lower than 44 px (WCAG 2.2, 2.5.5); a link within a sentence is as tall as its line, and a checkbox inside its
# label is as tall as the label
SMALL = """
  [...document.querySelectorAll("a, button, input:not([type=hidden], label.check *), label.check, select, summary")]
    .filter(it => it.checkVisibility() && (!it.closest("p:not(.actions)") || it.matches(".button")))
    .filter(it => it.getBoundingClientRect().height < 43.9)
    .map(it => it.outerHTML)
"""


def test_everybody_can_use_it(page, shown):
    """One test for all of it: making the rows behind a page takes longer than looking at it."""
    _passes_the_accessibility_check(page)
    _fits_the_width_and_has_targets_for_fingers(page)


def _passes_the_accessibility_check(page):
    for scheme, rules in (("light", RULES), ("dark", COLORS)):
        page.emulate_media(color_scheme=scheme)
        found = Axe().run(page, options=rules)
        assert found.violations_count == 0, f"{scheme}: {found.generate_report()}"


def _fits_the_width_and_has_targets_for_fingers(page):
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        assert (width, page.evaluate("document.documentElement.scrollWidth")) == (width, width)
        assert (width, page.evaluate(SMALL)) == (width, [])
