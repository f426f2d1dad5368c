"""The pictures of the desk, each with its numbers as a table. Plain data in, SVG out; `{% figure chart %}` shows both.

Every function takes a title and rows of plain values and gives a `Chart`: safe markup that knows its table. A unit "$"
is dollars; any other unit is written behind the number. Marks differ in lightness, shape and hatching, not color alone.
"""

import math
from collections.abc import Callable, Sequence
from typing import Any

from orders.desk.chart_svg import INK, Chart
from orders.desk.charts_kept import drawn_once
from orders.desk.charts_paper import AXIS_PX, LEFT_PX, RIGHT_PX, SEE_TABLE, Paper, Scale, empty, exact, written

MOST_NAMED_STEPS = 10
MOST_ACROSS = 12  # columns of a table of steps; of more each has a row
CHARACTER_PX = 9.0  # the widest that a word of a key comes to, by its letters
FIGURES_PX = 190.0  # at the right of the longest bar, for its figures

Series = tuple[str, Sequence[float] | None, Sequence[float], Sequence[float] | None]


@drawn_once
def breakdown_bars(title: str, rows: Sequence[tuple[str, float, str]], unit: str) -> Chart:
    """What a figure is made of: (label, value, note) by row, one bar each, in the order given."""
    headings = ["Part", f"Value ({unit})", "Note"]
    if not rows:
        return empty(title, headings)
    paper = Paper(len(rows) * 44 + AXIS_PX)
    scale = Scale.over([value for _, value, _ in rows], right_px=RIGHT_PX - FIGURES_PX)
    paper.axis(scale, unit)
    total = sum(value for _, value, _ in rows)
    for number, (label, value, note) in enumerate(rows):
        top = number * 44 + 4
        paper.label(top + 13, f"{label} ({note})" if note else label)
        paper.bar((scale.px(0), scale.px(value)), top + 19, 16, "a")
        share = f" ({value / total:.0%})" if total > 0 else ""
        paper.text(scale.px(max(value, 0)) + 6, top + 32, f"{written(value, unit)}{share}")
    told = f"One bar for each of {len(rows)} parts; together {written(total, unit)}. {SEE_TABLE}"
    return paper.chart(title, told, headings, [[label, exact(value, unit), note] for label, value, note in rows])


@drawn_once
def paired_bars(title: str, rows: Sequence[tuple[str, float, float]], unit: str, names: tuple[str, str]) -> Chart:
    """Two figures for each row, the hatched one (planned) above the solid one (actual)."""
    headings = ["Row", *names]
    if not rows:
        return empty(title, headings)
    paper = Paper(len(rows) * 56 + 30 + AXIS_PX)
    paper.bar((LEFT_PX, LEFT_PX + 28), 6, 12, "b-wash", edge="b", hatch="///")
    paper.text(LEFT_PX + 34, 17, names[0])
    second_px = LEFT_PX + max(130, 52 + CHARACTER_PX * len(names[0]))
    paper.bar((second_px, second_px + 28), 6, 12, "a")
    paper.text(second_px + 34, 17, names[1])
    scale = Scale.over([value for _, *values in rows for value in values], right_px=RIGHT_PX - 90)
    paper.axis(scale, unit, top=26)
    for number, (label, first, second) in enumerate(rows):
        top = number * 56 + 30
        paper.label(top + 13, label)
        paper.bar((scale.px(0), scale.px(first)), top + 19, 13, "b-wash", edge="b", hatch="///")
        paper.bar((scale.px(0), scale.px(second)), top + 34, 13, "a")
        for value, foot in ((first, top + 31), (second, top + 46)):
            paper.text(scale.px(max(value, 0)) + 6, foot, written(value, unit, 0))
    told = f"Two bars for each of {len(rows)} rows, {names[0]} above {names[1]}. {SEE_TABLE}"
    return paper.chart(title, told, headings, [[key, exact(one, unit), exact(two, unit)] for key, one, two in rows])


@drawn_once
def range_bars(title: str, rows: Sequence[tuple[str, float, float, float]], unit: str) -> Chart:
    """Low, likely and high by row: a band with a bar across it at the likely figure."""
    headings = ["Row", "Low", "Likely", "High"]
    if not rows:
        return empty(title, headings)
    paper = Paper(len(rows) * 46 + AXIS_PX)
    scale = Scale.over([value for _, *values in rows for value in values], right_px=RIGHT_PX - FIGURES_PX)
    paper.axis(scale, unit)
    leading = unit if unit == "$" else ""  # a unit that stands behind is said once
    for number, (label, low, likely, high) in enumerate(rows):
        top = number * 46 + 4
        paper.label(top + 13, label)
        paper.bar((scale.px(low), scale.px(high)), top + 20, 15, "a-wash", edge="a")
        paper.bar((scale.px(likely) - 2.5, scale.px(likely) + 2.5), top + 17, 21, "a")
        figures = f"{written(low, leading)} – {written(likely, leading)} – {written(high, unit)}"
        paper.text(scale.px(high) + 6, top + 33, figures)
    told = f"A band from low to high for each of {len(rows)} rows, with a thick mark at the likely figure. {SEE_TABLE}"
    return paper.chart(title, told, headings, [[label, *(exact(v, unit) for v in values)] for label, *values in rows])


@drawn_once
def season_total(
    title: str, low: float, likely: float, high: float, mean: float, budget: float | None, unit: str
) -> Chart:
    """The season's total as one band, with its mean, and the budget where there is one."""
    marks = [("low", low), ("likely", likely), ("mean", mean), ("high", high)]
    marks += [] if budget is None else [("budget", budget)]
    paper = Paper(len(marks) * 22 + 66 + AXIS_PX)
    scale = Scale.over([value for _, value in marks], right_px=RIGHT_PX - FIGURES_PX)
    paper.axis(scale, unit)
    paper.bar((scale.px(low), scale.px(high)), 12, 30, "a-wash", edge="a")
    paper.bar((scale.px(likely) - 3, scale.px(likely) + 3), 8, 38, "a")
    paper.mark(scale.px(mean), 27, "D", "c", hollow=True)
    # The largest on top: then no leader crosses the words of another.
    for number, (name, value) in enumerate(sorted(marks, key=lambda mark: -mark[1])):
        x, y = scale.px(value), 66 + number * 22
        is_budget = name == "budget"
        paper.line((x, x), (6 if is_budget else 44, y + 3), "b" if is_budget else "edge", width=2, dash="--")
        paper.text(x + 6, y, f"{name} {written(value, unit)}")
    told = f"A band from low to high, a thick mark at the likely total and a diamond at the mean. {SEE_TABLE}"
    return paper.chart(
        title, told, ["Point", "Total"], [[name.capitalize(), exact(value, unit)] for name, value in marks]
    )


@drawn_once
def tornado(title: str, likely: float, rows: Sequence[tuple[str, float, float]], unit: str) -> Chart:
    """How far each thing alone moves a figure: (label, low, high) by row, around the likely figure."""
    headings = ["What moves it", "Low", "High"]
    if not rows:
        return empty(title, headings)
    paper = Paper(len(rows) * 46 + AXIS_PX)
    scale = Scale.over([likely, *(v for _, *values in rows for v in values)], from_zero=False, right_px=RIGHT_PX - 60)
    paper.axis(scale, unit)
    middle = scale.px(likely)
    for number, (label, low, high) in enumerate(rows):
        top = number * 46 + 4
        paper.label(top + 13, f"{label}: {written(low, '')} to {written(high, unit)}")
        paper.bar((scale.px(low), middle), top + 19, 17, "b-wash", edge="b", hatch="///")
        paper.bar((middle, scale.px(high)), top + 19, 17, "a")
    paper.line((middle, middle), (4, len(rows) * 46 + 2), INK, width=1.6)
    told = f"{len(rows)} bars, each from low (hatched) to high (solid) around {written(likely, unit)}. {SEE_TABLE}"
    return paper.chart(title, told, headings, [[label, *(exact(v, unit) for v in values)] for label, *values in rows])


@drawn_once
def before_after(title: str, rows: Sequence[tuple[str, float, float, float, float]], unit: str) -> Chart:
    """What changed: (label, before, after, low, high) by row; low and high are the interval of what it is now."""
    headings = ["Row", "Before", "After", "Low", "High"]
    if not rows:
        return empty(title, headings)
    paper = Paper(len(rows) * 46 + 26 + AXIS_PX)
    paper.mark(LEFT_PX + 8, 12, "o", "b", hollow=True)
    paper.text(LEFT_PX + 20, 17, "before")
    paper.mark(LEFT_PX + 118, 12, "s", "a")
    paper.text(LEFT_PX + 130, 17, "after, with its interval")
    values = [value for _, *figures in rows for value in figures]
    scale = Scale.over(values, from_zero=False, right_px=RIGHT_PX - 60)
    paper.axis(scale, unit, top=26)
    for number, (label, before, after, low, high) in enumerate(rows):
        top = number * 46 + 28
        paper.label(top + 13, f"{label}: {written(before, '')} to {written(after, unit)}")
        y = top + 28
        paper.line((scale.px(low), scale.px(high)), (y, y), "a", width=3)
        for end in (low, high):
            paper.line((scale.px(end), scale.px(end)), (y - 6, y + 6), "a", width=2)
        paper.mark(scale.px(before), y, "o", "b", hollow=True)
        paper.mark(scale.px(after), y, "s", "a")
    told = f"A ring before and a square after for each of {len(rows)} rows; the line is the interval. {SEE_TABLE}"
    return paper.chart(title, told, headings, [[label, *(exact(v, unit) for v in figures)] for label, *figures in rows])


LOOKS = (("a", "a-wash", "o", "-"), ("b", "b-wash", "s", "--"), ("c", "", "^", ":"))
PLOT_TOP_PX, PLOT_FOOT_PX = 16.0, 240.0


@drawn_once
def lines(title: str, xs: Sequence[Any], series: Sequence[Series], unit: str, target: float | None = None) -> Chart:
    """Up to three courses over the same steps (years), each with its range where it has one; a target as a line."""
    headings = ["Course", *(str(x) for x in xs)]
    if not series or not xs:
        return empty(title, headings)
    paper = Paper(PLOT_FOOT_PX + 34 + 22 * (len(series) + (target is not None)))
    values = [v for _, lows, likelies, highs in series for part in (lows, likelies, highs) if part for v in part]
    scale = Scale.over([*values, *([] if target is None else [target])])
    height = _height(scale)
    across = _across(xs)
    _grid(paper, scale, unit, height)
    apart = _apart(xs, across)
    for x, where in list(zip(xs, across, strict=True))[::apart]:
        paper.text(where, PLOT_FOOT_PX + 20, str(x), align="center", quiet=True)
    for number, one in enumerate(series):
        _course(paper, one, across, height, LOOKS[number % len(LOOKS)], PLOT_FOOT_PX + 44 + 22 * number)
    if target is not None:
        y, key = height(target), PLOT_FOOT_PX + 44 + 22 * len(series)
        paper.line((across[0], across[-1]), (y, y), INK, width=1.4, dash="-.")
        paper.line((LEFT_PX, LEFT_PX + 34), (key - 5, key - 5), INK, width=1.4, dash="-.")
        paper.text(LEFT_PX + 42, key, f"target {written(target, unit)}")
    told = f"{len(series)} lines over {len(xs)} steps, told apart by their dashes and marks. {SEE_TABLE}"
    rows = _course_rows(series, unit, target, len(xs))
    if len(xs) > MOST_ACROSS:
        headings, *rows = [list(turned) for turned in zip(headings, *rows, strict=True)]
        headings[0] = "Step"
    return paper.chart(title, told, headings, rows)


def _height(scale: Scale) -> Callable[[float], float]:
    span = scale.high - scale.low
    return lambda value: PLOT_FOOT_PX - (PLOT_FOOT_PX - PLOT_TOP_PX) * (value - scale.low) / span


def _across(xs: Sequence[Any]) -> list[float]:
    step = (RIGHT_PX - 20 - 90) / max(len(xs) - 1, 1)
    return [90 + step * number for number in range(len(xs))]


def _apart(xs: Sequence[Any], across: Sequence[float]) -> int:
    """Of many steps, or of long names, only every so many is named, so that names stay apart."""
    step = across[1] - across[0] if len(across) > 1 else RIGHT_PX
    widest = (max(len(str(x)) for x in xs) + 1) * CHARACTER_PX
    return max(-(-len(xs) // MOST_NAMED_STEPS), math.ceil(widest / step))


def _grid(paper: Paper, scale: Scale, unit: str, height: Callable[[float], float]) -> None:
    places = 0 if scale.ticks[1] - scale.ticks[0] >= 1 else 2
    for tick in scale.ticks:
        paper.line((72, RIGHT_PX), (height(tick), height(tick)), "edge" if tick == 0 else "rule", width=0.8)
        paper.text(66, height(tick) + 5, written(tick, unit, places), align="right", quiet=True)


def _course(
    paper: Paper,
    one: Series,
    across: list[float],
    height: Callable[[float], float],
    look: tuple[str, str, str, str],
    key_y: float,
) -> None:
    label, lows, likelies, highs = one
    color, wash, shape, dash = look
    if lows and highs and wash:
        paper.band(across, [height(v) for v in lows], [height(v) for v in highs], wash)
    for bound in (lows, highs):
        if bound:
            paper.line(across, [height(v) for v in bound], color, width=0.8)
    paper.line(across, [height(v) for v in likelies], color, width=2.4, dash=dash)
    for x, value in list(zip(across, likelies, strict=True))[:: -(-len(across) // MOST_NAMED_STEPS)]:
        paper.mark(x, height(value), shape, color)
    paper.line((LEFT_PX, LEFT_PX + 34), (key_y - 5, key_y - 5), color, width=2.4, dash=dash)
    paper.mark(LEFT_PX + 17, key_y - 5, shape, color)
    paper.text(LEFT_PX + 42, key_y, label)


def _course_rows(series: Sequence[Series], unit: str, target: float | None, steps: int) -> list[list[str]]:
    rows = []
    for label, lows, likelies, highs in series:
        for name, part in (("low", lows), ("likely", likelies), ("high", highs)):
            if part:
                rows.append([f"{label}, {name}" if lows and highs else label, *(exact(v, unit) for v in part)])
    if target is not None:
        rows.append(["Target", *[exact(target, unit)] * steps])
    return rows
