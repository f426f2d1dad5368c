"""Pictures of every page, for people to look at:

FENCEROW_PICTURES=folder .venv/bin/pytest -m browser tests/browser/pictures.py
"""

import os
from pathlib import Path

import pytest

pytestmark = pytest.mark.browser
SIZES = {"desktop": (1440, 900), "tablet-lying": (1024, 768), "tablet-standing": (768, 1024), "phone": (320, 640)}


@pytest.fixture(scope="session")
def folder() -> Path:
    made = Path(os.environ["FENCEROW_PICTURES"])
    made.mkdir(parents=True, exist_ok=True)
    return made


def test_it_takes_pictures(page, shown, folder):
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        for size, (width, height) in SIZES.items():
            page.set_viewport_size({"width": width, "height": height})
            made = page.screenshot(path=folder / f"{shown.name}-{size}-{scheme}.png", full_page=True)
            assert made.startswith(b"\x89PNG")
    page.emulate_media(color_scheme="light", media="print")
    assert page.screenshot(path=folder / f"{shown.name}-print.png", full_page=True)
