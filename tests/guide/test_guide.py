"""The guides against the demo: each page opens for its role, each word that is named stands there, and no page has
changed since its picture was taken.

FENCEROW_DEMO names the data folder of a demo that was walked; without it the demo is walked first.
"""

import json
import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.urls import reverse
from playwright.sync_api import sync_playwright

from orders.desk.guide.guides import GUIDES
from orders.desk.guide.parts import Place
from orders.desk.guide.pictures import MANIFEST
from tests.guide.demo import Demo
from tests.guide.looking import Reader, digest, missing, named, reader_of, structure

pytestmark = pytest.mark.guide
QUOTED = re.compile("“([^”]+)”")
STEPS = [(guide, step) for guide in GUIDES for step in guide.steps]
PICTURES = [(guide, picture) for guide in GUIDES for picture in guide.pictures]


def _name(told):
    return getattr(told, "name", None) if hasattr(told, "alt") else getattr(told, "code", None)


@pytest.fixture(scope="session")
def reader(tmp_path_factory) -> Iterator[Reader]:
    made = os.environ.get("FENCEROW_DEMO")
    demo = Demo(tmp_path_factory.mktemp("guide"), Path(made) if made else None)
    try:
        with sync_playwright() as player:
            yield reader_of(player, demo)
    finally:
        demo.stop()


def _ways(reader, guide, code) -> list[str]:
    """The addresses that the guide's own page links from a step."""
    page = reader.open(guide, Place(reverse("help-guide", args=[guide.code])))
    found: list[str] = page.locator(f"#{code} p.actions a").evaluate_all("(all) => all.map((it) => it.pathname)")
    return found


@pytest.mark.parametrize(("guide", "step"), STEPS, ids=_name)
def test_its_pages_open_and_show_the_words_that_it_names(reader, guide, step):
    ways = _ways(reader, guide, step.code)
    assert len(ways) == len(step.links)
    places = [*(Place(way) for way in ways), *step.places, *([step.picture.place] if step.picture else [])]
    seen: set[str] = set()
    for place in places:
        page = reader.open(guide, place)
        assert page.locator("main h1, .screen h1").first.is_visible(), place.address
        assert not page.get_by_text(re.compile(r"^Error \d{3}$")).is_visible(), place.address
        seen |= named(page)
    wanted = QUOTED.findall(" ".join((step.why, *step.how, step.caution)))
    assert [words for words in wanted if not any(one.startswith(words) for one in seen)] == []


@pytest.mark.parametrize(("guide", "picture"), PICTURES, ids=_name)
def test_what_its_picture_marks_is_there_and_the_page_is_as_it_was(reader, guide, picture):
    page = reader.open(guide, picture.place)
    assert missing(page, picture) == []
    kept = json.loads(MANIFEST.read_text(encoding="utf-8"))[picture.name]
    now = structure(page)
    assert now == kept["structure"], f"The page changed: python -m tests.guide --only {picture.name}"
    assert digest(now) == kept["digest"]
