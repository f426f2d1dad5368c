"""The palette holds its contrasts, light and dark: WCAG 2.2, 1.4.3, 1.4.6 and 1.4.11."""

import re
from itertools import pairwise
from pathlib import Path

import pytest

from orders.desk import __file__ as desk

STYLES = Path(desk).parent / "static" / "desk"
TOKENS = (STYLES / "tokens.css").read_text()
LIGHT, DARK = (
    dict(re.findall(r"--([\w-]+): (#\w{6});", part)) for part in TOKENS.split("@media (prefers-color-scheme: dark)")
)

# Text is held to 7:1, which sunlight asks for; graphics and the edges of controls to 3:1.
TEXT = [
    ("ink", "paper"),
    ("ink", "sheet"),
    ("soft-ink", "paper"),
    ("soft-ink", "sheet"),
    ("fern", "paper"),
    ("fern", "sheet"),
    ("on-fern", "fern"),
    ("ink", "straw-wash"),
    ("ink", "berry-wash"),
    ("soft-ink", "straw-wash"),
]
GRAPHICS = [
    ("edge", "paper"),
    ("edge", "sheet"),
    ("ochre", "sheet"),
    ("lapis", "sheet"),
    ("plum", "sheet"),
    ("lapis", "lapis-wash"),
    ("ochre", "ochre-wash"),
    ("ring", "paper"),
    ("ring", "sheet"),
    ("straw", "straw-wash"),
    ("berry", "berry-wash"),
    ("fern", "paper"),
]


def luminance(color):
    """Relative luminance of #rrggbb, by the definition in WCAG 2.2."""
    channels = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize(
    ("color", "on_white"),
    [("#000000", 21.0), ("#767676", 4.542), ("#777777", 4.478), ("#595959", 7.005), ("#ff0000", 3.998)],
)
def test_it_computes_contrast_as_published(color, on_white):
    """Values of the formula in WCAG 2.2 (w3.org/TR/WCAG22, "contrast ratio"), computed."""
    assert contrast(color, "#ffffff") == pytest.approx(on_white, abs=0.0005)


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_it_keeps_text_readable_in_the_sun(theme):
    assert [pair for pair in TEXT if contrast(theme[pair[0]], theme[pair[1]]) < 7] == []


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_it_keeps_graphics_and_edges_visible(theme):
    assert [pair for pair in GRAPHICS if contrast(theme[pair[0]], theme[pair[1]]) < 3] == []


# What eyes make of linear red, green and blue: Machado, Oliveira and Fernandes, "A Physiologically-based Model
# for Simulation of Color Vision Deficiency" (IEEE Transactions on Visualization and Computer Graphics 15(6), 2009),
# severity 1.0, from memory; each row sums to 1, so that grays stay gray.
EYES = {
    "usual": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protanopia": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deuteranopia": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.01182, 0.04294, 0.968881)),
    "tritanopia": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.3039)),
}
MAP_LOOKS = [f"map-{look}" for look in range(1, 7)]
LEAST_STEP = 1.3


def seen_luminance(color, eyes):
    """Relative luminance of what the eyes make of a color."""
    channels = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    seen = [min(1, max(0, sum(part * of for part, of in zip(row, linear, strict=True)))) for row in eyes]
    return 0.2126 * seen[0] + 0.7152 * seen[1] + 0.0722 * seen[2]


@pytest.mark.parametrize("eyes", EYES.values(), ids=EYES)
def test_it_simulates_eyes_that_keep_grays_gray(eyes):
    assert [sum(row) for row in eyes] == pytest.approx([1, 1, 1], abs=2e-6)
    assert seen_luminance("#777777", eyes) == pytest.approx(luminance("#777777"), abs=1e-6)


@pytest.mark.parametrize("eyes", EYES.values(), ids=EYES)
@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_it_tells_the_classes_of_the_map_apart_by_lightness_alone(theme, eyes):
    """In order, each a step from the one before, for eyes that see no red, no green or no blue."""
    seen = [seen_luminance(theme[look], eyes) + 0.05 for look in MAP_LOOKS]
    assert seen in (sorted(seen), sorted(seen, reverse=True))
    steps = [max(pair) / min(pair) for pair in pairwise(seen)]
    assert min(steps) > LEAST_STEP, steps


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_it_keeps_edges_and_hatching_of_the_map_visible(theme):
    assert contrast(theme["map-edge"], theme["paper"]) >= 3
    over = {look: theme["map-over-high" if look in ("map-5", "map-6") else "map-over-low"] for look in MAP_LOOKS}
    hatched = ("map-2", "map-3", "map-5", "map-6")
    assert [look for look in hatched if contrast(theme[look], over[look]) < 3] == []


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_it_tells_planned_from_actual_by_lightness_too(theme):
    assert contrast(theme["ochre"], theme["lapis"]) > 1.4


def test_it_names_the_same_colors_light_and_dark():
    assert LIGHT.keys() == DARK.keys()


@pytest.mark.parametrize("name", ["desk.css", "charts.css"])
def test_it_uses_no_color_that_is_not_named(name):
    styles = (STYLES / name).read_text()
    on_screen = styles.partition("@media print")[0]
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b|rgb|hsl", on_screen) == []
    used = set(re.findall(r"var\(--([\w-]+)\)", styles))
    assert used <= set(re.findall(r"--([\w-]+):", TOKENS))


@pytest.mark.parametrize("file", sorted(STYLES.glob("*.css")), ids=lambda file: file.name)
def test_it_keeps_the_styles_short(file):
    assert len(file.read_text().splitlines()) <= 400
