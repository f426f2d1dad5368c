"""From a matplotlib figure to SVG that may stand in a page: no style, no script, no date, its own ids, colors by class.

Marks are drawn in stand-in colors that name a part of the palette. Here each becomes a class that charts.css colors, so
that one drawing serves light, dark and paper; the ink itself becomes `currentColor`.
"""

import hashlib
import importlib
import io
import os
import re
import threading
from collections.abc import Sequence
from functools import cache
from typing import Any
from xml.etree import ElementTree

from django.conf import settings
from django.utils.safestring import SafeString

WIDTH_PX = 720
TEXT_PX = 14
INK = "#010101"
NONE = "none"
# stand-in color -> the class that charts.css colors
PARTS = {
    "#0a0001": "a",
    "#0b0001": "b",
    "#0c0001": "c",
    "#0a0002": "a-wash",
    "#0b0002": "b-wash",
    "#020202": "sheet",
    "#030303": "quiet",
    "#040404": "rule",
    "#050505": "edge",
}
COLORS = {name: color for color, name in PARTS.items()}
FONT_WORDS = frozenset({"font", "font-family", "font-style", "font-variant", "font-stretch"})
# matplotlib is not made for several threads at once
_DRAWING = threading.Lock()


class Chart(SafeString):
    """SVG markup that is safe in a page, and what it shows as a table of text: numbers, or words (`of_words`)."""

    caption: str
    headings: Sequence[str]
    rows: Sequence[Sequence[str]]
    of_words: bool

    @classmethod
    def of(
        cls, svg: str, caption: str, headings: Sequence[str], rows: Sequence[Sequence[str]], of_words: bool = False
    ) -> "Chart":
        made = cls(svg)
        made.caption, made.headings, made.rows, made.of_words = caption, headings, rows, of_words
        return made


@cache
def library() -> Any:
    """matplotlib, loaded when the first picture is asked for; its cache of fonts stands with the program's data."""
    os.environ.setdefault("MPLCONFIGDIR", str(settings.DATA_DIR / "matplotlib"))
    import matplotlib

    matplotlib.rcParams.update(
        {
            "svg.fonttype": "none",
            "svg.hashsalt": "desk",
            "text.parse_math": False,
            "font.family": ["DejaVu Sans"],
            "font.size": TEXT_PX,
            "hatch.linewidth": 1.5,
            "figure.dpi": 72,
            "axes.unicode_minus": True,
        }
    )
    return matplotlib


def load() -> None:
    """All that the first picture would wait for, the list of fonts among it."""
    figure(TEXT_PX)
    importlib.import_module("matplotlib.backends.backend_svg")


def figure(height_px: float) -> Any:
    """An empty figure of the usual width; its points are the picture's pixels."""
    library()
    from matplotlib.figure import Figure

    return Figure(figsize=(WIDTH_PX / 72, height_px / 72), dpi=72, facecolor=NONE)


def svg(drawn: Any, title: str, told: str) -> str:
    """The figure as markup with a title and a description."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    made = io.BytesIO()
    with _DRAWING:
        FigureCanvasSVG(drawn).print_svg(  # type: ignore[no-untyped-call]
            made, metadata={"Date": None, "Creator": None, "Format": None, "Type": None}
        )
    root = ElementTree.fromstring(made.getvalue())  # noqa: S314 - matplotlib wrote it just now
    prefix = f"c{hashlib.sha256(made.getvalue() + title.encode() + told.encode()).hexdigest()[:8]}-"
    _plain(root, prefix)
    _drop_ids(root)
    return ElementTree.tostring(_named(root, prefix, title, told), encoding="unicode")


def _named(root: ElementTree.Element, prefix: str, title: str, told: str) -> ElementTree.Element:
    attributes = {
        "class": "chart",
        "role": "img",
        "viewBox": root.attrib["viewBox"],
        "aria-labelledby": f"{prefix}t {prefix}d",
    }
    made = ElementTree.Element("svg", attributes)
    for tag, identity, text in (("title", "t", title), ("desc", "d", told)):
        ElementTree.SubElement(made, tag, {"id": f"{prefix}{identity}"}).text = text
    made.extend(part for part in root if part.tag not in ("metadata", "style"))
    return made


def _plain(element: ElementTree.Element, prefix: str) -> None:
    """Bare names, attributes for styles, classes for colors, ids that no other picture on the page has."""
    element.tag = element.tag.rpartition("}")[2]
    for child in list(element):
        if child.tag.rpartition("}")[2] in ("metadata", "style"):
            element.remove(child)
        else:
            _plain(child, prefix)
    attributes = {name.rpartition("}")[2]: value for name, value in element.attrib.items()}
    attributes |= _declared(attributes.pop("style", ""))
    element.attrib.clear()
    element.attrib.update(_colored({name: _own(name, value, prefix) for name, value in attributes.items()}))


def _drop_ids(root: ElementTree.Element) -> None:
    """Keep the ids that something in the picture refers to."""
    values = [value for element in root.iter() for value in element.attrib.values()]
    wanted = {name for value in values for name in re.findall(r"#([\w-]+)", value)}
    for element in root.iter():
        if element.attrib.get("id") not in wanted:
            element.attrib.pop("id", None)


def _declared(style: str) -> dict[str, str]:
    pairs = (part.partition(":") for part in style.split(";") if ":" in part)
    found = {name.strip(): value.strip() for name, _, value in pairs}
    if (font := re.search(r"([\d.]+)px", found.get("font", ""))) is not None:
        found["font-size"] = font.group(1)
        if "bold" in found["font"] or re.search(r"\b[67]00\b", found["font"]):
            found["font-weight"] = "bold"
    return {name: value.removesuffix("px") for name, value in found.items() if name not in FONT_WORDS}


def _own(name: str, value: str, prefix: str) -> str:
    if name == "id":
        return prefix + value
    if name == "href":
        return value.replace("#", f"#{prefix}", 1)
    return value.replace("url(#", f"url(#{prefix}")


def _colored(attributes: dict[str, str]) -> dict[str, str]:
    classes = []
    for use in ("fill", "stroke"):
        color = attributes.get(use, "").lower()
        if color == INK:
            attributes[use] = "currentColor"
        elif color in PARTS:
            part = PARTS[color]
            classes.append(f"ch-{part}" if part.endswith("-wash") else f"ch-{part}-{use}")
    return attributes | ({"class": " ".join(classes)} if classes else {})
