"""The picture beside the cost table: planned and actual as bars, measured here and drawn by a template."""

from collections.abc import Callable
from dataclasses import dataclass

from orders.reports.costs import CostReport, CostRow

MOST_ROWS = 20
ROW_PX = 54
BAR_PX = 12
BARS_PERCENT = 70.0  # of the width; the rest is for the figures behind the bars
LABEL_CHARACTERS = 36


@dataclass(frozen=True)
class Bar:
    """Across in percent of the picture's width, down in pixels: text keeps its size on a narrow screen."""

    left_percent: str
    width_percent: str
    top_px: int
    figure_percent: str
    figure: str

    @property
    def baseline_px(self) -> int:
        return self.top_px + BAR_PX - 1


@dataclass(frozen=True)
class BarPair:
    key: str
    label: str
    label_px: int
    planned: Bar
    actual: Bar

    @property
    def foot_px(self) -> int:
        return self.actual.top_px + BAR_PX


@dataclass(frozen=True)
class Bars:
    pairs: tuple[BarPair, ...]
    height_px: int
    zero_percent: str
    rows_left: int
    bar_px: int = BAR_PX


def cost_bars(report: CostReport, figure: Callable[[int], str]) -> Bars:
    """The largest rows, in the order of the table; `figure` writes an amount."""
    largest = sorted(report.rows, key=_size, reverse=True)[:MOST_ROWS]
    kept = {row.key for row in largest}
    rows = [row for row in report.rows if row.key in kept][:MOST_ROWS]
    scale = _Scale.over(rows)
    return Bars(
        pairs=tuple(_pair(number, row, scale, figure) for number, row in enumerate(rows)),
        height_px=len(rows) * ROW_PX,
        zero_percent=_percent(scale.at(0)),
        rows_left=len(report.rows) - len(rows),
    )


def _size(row: CostRow) -> int:
    return max(abs(row.planned_cents), abs(row.actual_cents))


@dataclass(frozen=True)
class _Scale:
    """Zero is always on it; a month of reversals may lie left of it."""

    low: int
    span: int

    @classmethod
    def over(cls, rows: list[CostRow]) -> "_Scale":
        amounts = [0, *(cents for row in rows for cents in (row.planned_cents, row.actual_cents))]
        return cls(min(amounts), max(max(amounts) - min(amounts), 1))

    def at(self, cents: int) -> float:
        return BARS_PERCENT * (cents - self.low) / self.span


def _percent(share: float) -> str:
    return f"{share:.3f}%"


def _pair(number: int, row: CostRow, scale: _Scale, figure: Callable[[int], str]) -> BarPair:
    top = number * ROW_PX
    label = row.key if len(row.key) <= LABEL_CHARACTERS else f"{row.key[: LABEL_CHARACTERS - 1]}…"
    planned, actual = (
        _bar(cents, top + offset, scale, figure) for cents, offset in ((row.planned_cents, 20), (row.actual_cents, 34))
    )
    return BarPair(row.key, label, top + 14, planned, actual)


def _bar(cents: int, top_px: int, scale: _Scale, figure: Callable[[int], str]) -> Bar:
    left, right = sorted((scale.at(0), scale.at(cents)))
    return Bar(_percent(left), _percent(right - left), top_px, _percent(right), figure(cents))
