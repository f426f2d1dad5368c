"""The pictures of plans: what the season costs week by week, how the search went, and plans side by side."""

from collections.abc import Sequence
from datetime import date

from orders.desk.chart_svg import INK, Chart
from orders.desk.charts_kept import drawn_once
from orders.desk.charts_paper import LEFT_PX, RIGHT_PX, SEE_TABLE, Paper, Scale, empty, exact, written
from orders.desk.charts_season import Days, day_words

PLOT_LEFT_PX, PLOT_TOP_PX, PLOT_FOOT_PX = 92.0, 16.0, 240.0
PANEL_PX, BAR_PX = 30.0, 20.0
NAMES_PX, FIGURES_PX = 190.0, 150.0
# Plans side by side differ by filling: solid, hatched, hollow, cross-hatched.
FILLS = (("a", "a", ""), ("b-wash", "b", "///"), ("sheet", "c", ""), ("a-wash", "a", "xxx"))
MOST_PLANS = len(FILLS)


@drawn_once
def cost_course(title: str, weeks: Sequence[tuple[date, float, float, float]], budget: float | None) -> Chart:
    """What the season has cost by the end of each week: (Monday, low, likely, high) in dollars, against its budget."""
    headings = ["By the end of the week of", "Low", "Likely", "High"]
    if not weeks:
        return empty(title, headings)
    paper = Paper(PLOT_FOOT_PX + 64 + 22 * (budget is not None))
    values = [value for _, *figures in weeks for value in figures]
    scale = Scale.over([*values, *([] if budget is None else [budget])])
    days = Days(weeks[0][0], weeks[-1][0], left_px=PLOT_LEFT_PX)
    _rules(paper, scale, "$")
    days.draw(paper, PLOT_TOP_PX, PLOT_FOOT_PX)
    across = [days.px(monday) for monday, *_ in weeks]
    lows = [_high(scale, low) for _, low, _, _ in weeks]
    likelies = [_high(scale, likely) for _, _, likely, _ in weeks]
    highs = [_high(scale, high) for *_, high in weeks]
    paper.band(across, lows, highs, "b-wash")
    for course, width in ((lows, 0.8), (highs, 0.8), (likelies, 2.4)):
        paper.line(across, course, "b", width=width)
    paper.line((LEFT_PX, LEFT_PX + 34), (PLOT_FOOT_PX + 51, PLOT_FOOT_PX + 51), "b", width=2.4)
    paper.text(LEFT_PX + 42, PLOT_FOOT_PX + 56, "likely, in its range from low to high")
    if budget is not None:
        _level(paper, scale, budget, f"budget {written(budget, '$')}", PLOT_FOOT_PX + 78)
    told = f"One line with its range over {len(weeks)} weeks. {SEE_TABLE}"
    rows = [[day_words(monday), *(exact(value, "$") for value in figures)] for monday, *figures in weeks]
    return paper.chart(title, told, headings, rows)


@drawn_once
def search_course(title: str, course: Sequence[tuple[int, float]], bound: float | None) -> Chart:
    """What the best plan lost after so many rounds of search, in dollars, and the bound that no plan passes."""
    headings = ["After rounds", "Lost"]
    if not course:
        return empty(title, headings)
    paper = Paper(PLOT_FOOT_PX + 56 + 22 * (bound is not None))
    values = [lost for _, lost in course]
    scale = Scale.over([*values, *([] if bound is None else [bound])], from_zero=False)
    most = max(course[-1][0], 1)
    width = (RIGHT_PX - 40 - PLOT_LEFT_PX) / most
    _rules(paper, scale, "$")
    paper.text(PLOT_LEFT_PX, PLOT_FOOT_PX + 18, "round 0", quiet=True)
    paper.text(RIGHT_PX - 10, PLOT_FOOT_PX + 18, f"round {most:,}", align="right", quiet=True)
    xs, ys = _stairs([(PLOT_LEFT_PX + width * rounds, _high(scale, lost)) for rounds, lost in course])
    paper.line(xs, ys, "a", width=2.4)
    paper.line((LEFT_PX, LEFT_PX + 34), (PLOT_FOOT_PX + 41, PLOT_FOOT_PX + 41), "a", width=2.4)
    paper.text(LEFT_PX + 42, PLOT_FOOT_PX + 46, "what the best plan so far loses")
    if bound is not None:
        _level(paper, scale, bound, f"no plan loses less than {written(bound, '$')}", PLOT_FOOT_PX + 68)
    told = f"A line that falls in {len(course)} steps as better plans are found. {SEE_TABLE}"
    return paper.chart(title, told, headings, [[f"{rounds:,}", exact(lost, "$")] for rounds, lost in course])


def _stairs(points: Sequence[tuple[float, float]]) -> tuple[list[float], list[float]]:
    """A value holds until the next one."""
    xs: list[float] = []
    ys: list[float] = []
    for x, y in points:
        xs += [x, x] if xs else [x]
        ys += [ys[-1], y] if ys else [y]
    return xs, ys


def _high(scale: Scale, value: float) -> float:
    return PLOT_FOOT_PX - (PLOT_FOOT_PX - PLOT_TOP_PX) * (value - scale.low) / (scale.high - scale.low)


def _rules(paper: Paper, scale: Scale, unit: str) -> None:
    for tick in scale.ticks:
        y = _high(scale, tick)
        paper.line((PLOT_LEFT_PX - 6, RIGHT_PX), (y, y), "edge" if tick == 0 else "rule", width=0.8)
        paper.text(PLOT_LEFT_PX - 10, y + 5, written(tick, unit, 0), align="right", quiet=True)


def _level(paper: Paper, scale: Scale, value: float, words: str, key_y: float) -> None:
    y = _high(scale, value)
    paper.line((PLOT_LEFT_PX - 6, RIGHT_PX), (y, y), INK, width=1.4, dash="-.")
    paper.line((LEFT_PX, LEFT_PX + 34), (key_y - 5, key_y - 5), INK, width=1.4, dash="-.")
    paper.text(LEFT_PX + 42, key_y, words)


@drawn_once
def compare_bars(title: str, names: Sequence[str], figures: Sequence[tuple[str, str, Sequence[float]]]) -> Chart:
    """Plans side by side: (figure, unit, one value a plan), each figure with its own scale from zero. Without a unit
    the figure is a count."""
    headings = ["Figure", *names]
    if not names or not figures:
        return empty(title, headings)
    height = PANEL_PX + BAR_PX * len(names)
    paper = Paper(height * len(figures) + 6)
    for number, (label, unit, values) in enumerate(figures):
        top, most = height * number, max(values, default=0.0)
        paper.text(LEFT_PX, top + 20, label, bold=True)
        for place, (name, value) in enumerate(zip(names, values, strict=True)):
            _plan_bar(paper, top + PANEL_PX + BAR_PX * place, name, value, most, unit, FILLS[place % MOST_PLANS])
    told = f"{len(figures)} figures, one bar for each of {len(names)} plans. {SEE_TABLE}"
    rows = [[label, *(_figure(value, unit, 2) for value in values)] for label, unit, values in figures]
    return paper.chart(title, told, headings, rows)


def _plan_bar(
    paper: Paper, top: float, name: str, value: float, most: float, unit: str, look: tuple[str, str, str]
) -> None:
    left = LEFT_PX + NAMES_PX
    width = (RIGHT_PX - FIGURES_PX - left) * value / most if most > 0 else 0.0
    fill, edge, hatch = look
    paper.text(left - 8, top + 13, name if len(name) <= 24 else f"{name[:23]}…", align="right", quiet=True)
    paper.bar((left, left + width), top + 2, BAR_PX - 6, fill, edge=edge, hatch=hatch)
    paper.text(left + width + 6, top + 14, _figure(value, unit))


def _figure(value: float, unit: str, decimals: int | None = None) -> str:
    return written(value, unit, decimals if unit else 0)
