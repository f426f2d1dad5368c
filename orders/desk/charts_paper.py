"""The sheet that pictures are drawn on, in pixels from its upper left corner, and how numbers are written on it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from orders.desk.chart_svg import COLORS, INK, WIDTH_PX, Chart, figure, library, svg

LEFT_PX, RIGHT_PX = 10.0, WIDTH_PX - 14.0
AXIS_PX = 40.0
LABEL_CHARACTERS = 70
MINUS = "\N{MINUS SIGN}"
SEE_TABLE = "The same numbers are in the table."


def written(value: float, unit: str, decimals: int | None = None) -> str:
    """A number as people write it: $1,234, 12.5 h, 1.23 ×, 60%."""
    places = decimals if decimals is not None else (0 if abs(value) >= 100 else 2 if abs(value) < 10 else 1)
    figures = f"{abs(value):,.{places}f}"
    sign = MINUS if value < 0 and float(figures.replace(",", "")) else ""
    if unit == "$":
        return f"{sign}${figures}"
    return f"{sign}{figures}%" if unit == "%" else f"{sign}{figures} {unit}".rstrip()


def exact(value: float, unit: str) -> str:
    """As the table writes it: two decimals."""
    return written(value, unit, 2)


@dataclass(frozen=True)
class Scale:
    """Values to pixels across, with round numbers to write below."""

    low: float
    high: float
    ticks: tuple[float, ...]
    right_px: float = RIGHT_PX

    @classmethod
    def over(cls, values: Sequence[float], *, from_zero: bool = True, right_px: float = RIGHT_PX) -> "Scale":
        library()
        from matplotlib.ticker import MaxNLocator

        spread = [*values, 0.0] if from_zero else [*values]
        low, high = min(spread), max(spread)
        if high <= low:
            low, high = low - (0.0 if from_zero else 1.0), high + 1.0
        ticks = [float(tick) for tick in MaxNLocator(nbins=6).tick_values(low, high)]
        return cls(ticks[0], ticks[-1], tuple(ticks), right_px)

    def px(self, value: float) -> float:
        return LEFT_PX + (self.right_px - LEFT_PX) * (value - self.low) / (self.high - self.low)


class Paper:
    """A sheet measured in pixels from its upper left corner."""

    def __init__(self, height_px: float) -> None:
        self.height_px = height_px
        self.figure = figure(height_px)
        self.axes = self.figure.add_axes((0, 0, 1, 1))
        self.axes.set(xlim=(0, WIDTH_PX), ylim=(height_px, 0))
        self.axes.set_axis_off()
        self.drawn = 0

    def above(self) -> int:
        """What is drawn later lies above."""
        self.drawn += 1
        return self.drawn

    def bar(
        self, x: tuple[float, float], top: float, height: float, fill: str, *, edge: str = "", hatch: str = ""
    ) -> None:
        from matplotlib.patches import Rectangle

        low, high = min(x), max(x)
        style: dict[str, Any] = {
            "zorder": self.above(),
            "facecolor": COLORS.get(fill, fill),
            "edgecolor": COLORS.get(edge, edge or "none"),
            "hatch": hatch,
        }
        self.axes.add_patch(Rectangle((low, top), high - low, height, linewidth=1.2, clip_on=False, **style))

    def line(
        self, xs: Sequence[float], ys: Sequence[float], color: str, *, width: float = 1.0, dash: Any = "-"
    ) -> None:
        self.axes.plot(
            xs, ys, color=COLORS.get(color, color), linewidth=width, linestyle=dash, clip_on=False, zorder=self.above()
        )

    def band(self, xs: Sequence[float], lows: Sequence[float], highs: Sequence[float], fill: str) -> None:
        self.axes.fill_between(xs, lows, highs, color=COLORS[fill], linewidth=0, clip_on=False, zorder=self.above())

    def mark(self, x: float, y: float, shape: str, color: str, *, hollow: bool = False, size: float = 9) -> None:
        named = COLORS.get(color, color)
        face = COLORS["sheet"] if hollow else named
        style = {"markersize": size, "markeredgecolor": named, "markerfacecolor": face, "markeredgewidth": 1.8}
        self.axes.plot([x], [y], marker=shape, linestyle="none", clip_on=False, zorder=self.above(), **style)

    def text(
        self, x: float, y: float, words: str, *, align: str = "left", bold: bool = False, quiet: bool = False
    ) -> None:
        color = COLORS["quiet"] if quiet else INK
        weight = "bold" if bold else "normal"
        self.axes.text(x, y, words, ha=align, va="baseline", color=color, fontweight=weight, clip_on=False, zorder=900)

    def label(self, y: float, words: str) -> None:
        """Above a row, over the whole width."""
        kept = words if len(words) <= LABEL_CHARACTERS else f"{words[: LABEL_CHARACTERS - 1]}…"
        self.text(LEFT_PX + 4, y, kept)

    def axis(self, scale: Scale, unit: str, *, top: float = 4.0) -> None:
        foot = self.height_px - AXIS_PX + 8
        for number, tick in enumerate(scale.ticks):
            x = scale.px(tick)
            self.line((x, x), (top, foot), "edge" if tick == 0 else "rule", width=1.2 if tick == 0 else 0.8)
            places = 0 if scale.ticks[1] - scale.ticks[0] >= 1 else 2
            words = written(tick, unit if number == len(scale.ticks) - 1 or unit == "$" else "", places)
            align = "left" if x < 30 else "center"
            self.text(x, foot + 18, words, align=align, quiet=True)

    def chart(
        self, title: str, told: str, headings: Sequence[str], rows: Sequence[Sequence[str]], *, of_words: bool = False
    ) -> Chart:
        return Chart.of(svg(self.figure, title, told), title, headings, rows, of_words)


def empty(title: str, headings: Sequence[str]) -> Chart:
    return Chart.of("", title, headings, [])
