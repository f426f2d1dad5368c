"""What every screen of the tablet is held to: no violation that the accessibility check finds, targets for gloves,
words that can be read in the sun, and no wider than the tablet."""

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.browser.tablet import ACROSS, UPRIGHT

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
TARGET_PX = 48
CONTRAST = 7
SMALL = """
  least => [...document.querySelectorAll("a, button, input:not([type=hidden]), select, textarea, summary")]
    .filter(it => it.checkVisibility())
    .filter(it => { const box = it.getBoundingClientRect(); return Math.min(box.width, box.height) < least - 0.1; })
    .map(it => it.outerHTML.slice(0, 120))
"""
# WCAG 2.2, "relative luminance" and "contrast ratio"; a see-through background is laid over what is behind it.
FAINT = """
  least => {
    const parts = color => { const [r, g, b, a = 1] = color.match(/[\\d.]+/g).map(Number); return [r, g, b, a]; };
    const over = ([r, g, b, a], under) => [r, g, b].map((c, n) => c * a + under[n] * (1 - a));
    const behind = it => {
      if (!it) return [255, 255, 255];
      const color = parts(getComputedStyle(it).backgroundColor);
      return color[3] === 1 ? color.slice(0, 3) : over(color, behind(it.parentElement));
    };
    const light = color => {
      const [r, g, b] = color.map(c => c / 255).map(c => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
      return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    const ratio = (one, other) => {
      const [low, high] = [light(one), light(other)].sort((a, b) => a - b);
      return (high + 0.05) / (low + 0.05);
    };
    const found = new Set();
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      const it = walker.currentNode.parentElement;
      if (!walker.currentNode.data.trim() || !it.checkVisibility({ visibilityProperty: true })) continue;
      if (it.closest("svg")) continue;
      const ground = behind(it);
      const seen = ratio(over(parts(getComputedStyle(it).color), ground), ground);
      if (seen < least) found.add(`${seen.toFixed(2)}: ${it.outerHTML.slice(0, 100)}`);
    }
    return [...found];
  }
"""


def faults(page: Page) -> list[Any]:
    """All that is wrong with the screen that is open, upright and across."""
    found: list[Any] = []
    for size in (UPRIGHT, ACROSS):
        page.set_viewport_size(size)
        where = f"{size['width']} wide"
        if (wide := page.evaluate("() => document.documentElement.scrollWidth")) > size["width"]:
            found.append((where, f"is {wide} px wide"))
        found += [(where, "small", one) for one in page.evaluate(SMALL, TARGET_PX)]
    found += [("faint", one) for one in page.evaluate(FAINT, CONTRAST)]
    checked = Axe().run(page, options=RULES)
    if checked.violations_count:
        found.append(checked.generate_report())
    page.set_viewport_size(UPRIGHT)
    return found
