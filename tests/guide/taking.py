"""Take the pictures of the guides from the demo, and write down what stood on them."""

import argparse
import io
import json
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import Error, FloatRect, Page, sync_playwright

from orders.desk.guide.guides import GUIDES
from orders.desk.guide.parts import Guide, Mark, Picture
from orders.desk.guide.pictures import MANIFEST
from tests.guide.demo import ROOT, Demo
from tests.guide.looking import SIZE, Reader, digest, marked, missing, reader_of, structure

FOLDER = ROOT / "orders/desk/static/desk/guide"
MOST_BYTES = 60_000
QUALITIES = (82, 74, 66, 58, 50, 40)
# Numbered discs beside what they mark: nothing of the page moves, and no word is covered.
DRAW = """(spots) => {
  document.querySelectorAll("[data-guide-disc]").forEach((old) => old.remove());
  spots.forEach(([x, y], place) => {
    const disc = document.createElement("div");
    disc.dataset.guideDisc = "";
    disc.textContent = place + 1;
    Object.assign(disc.style, {
      position: "absolute", left: `${x}px`, top: `${y}px`, width: "24px", height: "24px", borderRadius: "12px",
      background: "#7d3c6e", color: "#fff", border: "1px solid #fff", boxSizing: "border-box", zIndex: 9999,
      font: "700 14px/22px sans-serif", textAlign: "center",
    });
    document.body.append(disc);
  });
}"""
# Where the words themselves stand, whatever room their element takes.
WORDS_BOX = """(element) => {
  const range = document.createRange();
  range.selectNodeContents(element);
  const box = range.getBoundingClientRect();
  return [box.left, box.top, box.right, box.bottom];
}"""
DISC = 24


def picture_take(reader: Reader, guide: Guide, picture: Picture) -> dict[str, Any]:
    page = reader.open(guide, picture.place)
    lost = missing(page, picture)
    assert not lost, f"{picture.name}: not on the page: {', '.join(lost)}"
    lines = structure(page)
    clip = _clip(page, picture)
    page.evaluate(DRAW, _spots(page, picture, clip))
    shot = page.screenshot(full_page=True, clip=clip, animations="disabled")
    width, height = _keep(shot, FOLDER / f"{picture.name}.webp")
    return {
        "address": picture.place.address,
        "follow": list(picture.place.follow),
        "login": guide.login,
        "marks": [f"{mark.kind} {mark.words}" for mark in picture.marks],
        "width": width,
        "height": height,
        "digest": digest(lines),
        "structure": lines,
    }


def _clip(page: Page, picture: Picture) -> FloatRect:
    page.evaluate("() => window.scrollTo(0, 0)")
    box = page.locator(picture.top).first.bounding_box()
    assert box, f"{picture.name}: {picture.top} is not seen"
    whole = int(page.evaluate("() => document.documentElement.scrollHeight"))
    top = max(int(box["y"]), 0)
    return FloatRect(x=0, y=top, width=SIZE["width"], height=min(picture.height, whole - top))


def _spots(page: Page, picture: Picture, clip: FloatRect) -> list[tuple[float, float]]:
    spots = []
    for mark in picture.marks:
        x, y = _spot(page, mark)
        assert clip["y"] - DISC <= y <= clip["y"] + clip["height"] - DISC, (
            f"{picture.name}: {mark.words} is not in the picture"
        )
        spots.append((min(max(x, 2), SIZE["width"] - DISC - 2), max(y, clip["y"] + 2)))
    return spots


def _spot(page: Page, mark: Mark) -> tuple[float, float]:
    """On the upper left corner of what has an edge, above the words of a column, else behind the words."""
    found = marked(page, mark)
    if mark.kind in {"button", "link", "field"}:
        box = found.bounding_box()
        assert box, f"{mark.words} has no place"
        return box["x"] - DISC / 2, box["y"] - DISC / 2
    left, top, right, bottom = found.evaluate(WORDS_BOX)
    if mark.kind == "columnheader":
        return (left, top - DISC + 2)
    return (right + 8, (top + bottom - DISC) / 2)


def _keep(shot: bytes, path: Path) -> tuple[int, int]:
    """As good as the bytes allow."""
    image = Image.open(io.BytesIO(shot)).convert("RGB")
    for quality in QUALITIES:
        made = io.BytesIO()
        image.save(made, "WEBP", quality=quality, method=6)
        if len(made.getvalue()) <= MOST_BYTES:
            path.write_bytes(made.getvalue())
            return image.size
    raise AssertionError(f"{path.name}: more than {MOST_BYTES} bytes; show less of the page")


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.guide")
    parser.add_argument("made", nargs="?", type=Path, help="the data folder of a demo that was walked")
    parser.add_argument("--only", default="", help="only pictures whose name begins so")
    asked = parser.parse_args()
    taken: dict[str, Any] = {}
    with tempfile.TemporaryDirectory(prefix="fencerow-guide-") as folder, sync_playwright() as player:
        demo = Demo(Path(folder), asked.made)
        try:
            faults = list(_taken_into(taken, reader_of(player, demo), asked.only))
        finally:
            demo.stop()
    _write(taken)
    if faults:
        sys.exit("\n".join(["Not taken:", *faults]))


def _taken_into(taken: dict[str, Any], reader: Reader, only: str) -> Iterator[str]:
    """Take them all; what is wrong with one is told, and keeps no other from being taken."""
    for guide in GUIDES:
        for picture in guide.pictures:
            if not picture.name.startswith(only):
                continue
            try:
                taken[picture.name] = picture_take(reader, guide, picture)
            except (AssertionError, Error) as fault:
                yield f"{picture.name}: {fault}"
                continue
            size = (FOLDER / f"{picture.name}.webp").stat().st_size
            print(f"{picture.name}: {size // 1000} kB, {len(taken[picture.name]['structure'])} words", flush=True)


def _write(taken: dict[str, Any]) -> None:
    """What was taken now beside what was taken before; what no guide uses any more goes."""
    kept = json.loads(MANIFEST.read_text(encoding="utf-8")) if MANIFEST.exists() else {}
    names = [picture.name for guide in GUIDES for picture in guide.pictures]
    rows = {name: {**kept, **taken}[name] for name in names if name in kept or name in taken}
    MANIFEST.write_text(json.dumps(rows, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    for old in FOLDER.glob("*.webp"):
        if old.stem not in names:
            old.unlink()
