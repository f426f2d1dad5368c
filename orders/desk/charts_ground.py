"""A patch over the years: how much of it each species and form covered, what was done, and where it was split or
merged. One strip for each species and form, all on one line of time."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from orders.desk.chart_svg import Chart
from orders.desk.charts_paper import LEFT_PX, RIGHT_PX, SEE_TABLE, Paper, empty

STRIP_PX, HEAD_PX, GAP_PX, FOOT_PX, KEY_PX = 96.0, 26.0, 14.0, 30.0, 30.0
SCALE_PX = 46.0  # for the percents at the left
HEADINGS = ["Day", "What", "Patch", "Low", "Likely", "High"]
MOST_YEAR_WORDS = 14


@dataclass(frozen=True)
class Seen:
    """The cover that one survey saw of one species and form, in percent."""

    day: date
    patch: str
    low: float
    likely: float
    high: float


@dataclass(frozen=True)
class Strip:
    words: str
    seen: Sequence[Seen]


@dataclass(frozen=True)
class Event:
    """Work that was done, or a split or merge; `words` say which."""

    day: date
    words: str
    patch: str
    is_work: bool


class _Time:
    """Whole years across."""

    def __init__(self, days: Sequence[date]) -> None:
        self.first, self.last = min(days).year, max(days).year + 1

    def px(self, day: date) -> float:
        start, end = date(self.first, 1, 1), date(self.last, 1, 1)
        left = LEFT_PX + SCALE_PX
        return left + (RIGHT_PX - left) * (day - start).days / (end - start).days


def cover_history(title: str, strips: Sequence[Strip], events: Sequence[Event], target_percent: float) -> Chart:
    days = [seen.day for strip in strips for seen in strip.seen] + [event.day for event in events]
    if not days:
        return empty(title, HEADINGS)
    time = _Time(days)
    each = HEAD_PX + STRIP_PX + GAP_PX
    paper = Paper(KEY_PX + len(strips) * each + FOOT_PX)
    _key(paper)
    _years(paper, time)
    for number, strip in enumerate(strips):
        _strip(paper, time, strip, events, KEY_PX + number * each, target_percent)
    told = (
        f"Strips of cover from {time.first} to {time.last - 1}: a dot for each survey with a bar from low to high, a "
        f"dashed line at the aim, a mark for work, and a line where the patch was split or merged. {SEE_TABLE}"
    )
    return paper.chart(title, told, HEADINGS, _table(strips, events), of_words=True)


def _key(paper: Paper) -> None:
    paper.mark(LEFT_PX + 12, 12, "o", "a", size=7)
    paper.text(LEFT_PX + 24, 17, "surveyed")
    paper.mark(LEFT_PX + 122, 12, "v", "b", size=9)
    paper.text(LEFT_PX + 134, 17, "work done")
    paper.line((LEFT_PX + 236, LEFT_PX + 262), (12, 12), "edge", width=1.6, dash=(0, (5, 3)))
    paper.text(LEFT_PX + 268, 17, "aim")
    paper.line((LEFT_PX + 322, LEFT_PX + 322), (4, 20), "edge", width=2.4)
    paper.text(LEFT_PX + 332, 17, "split or merged")


def _years(paper: Paper, time: _Time) -> None:
    foot = paper.height_px - FOOT_PX
    step = max(1, -(-(time.last - time.first) // MOST_YEAR_WORDS))
    for year in range(time.first, time.last + 1):
        x = time.px(date(year, 1, 1))
        paper.line((x, x), (KEY_PX + HEAD_PX, foot), "rule", width=0.8)
        if year < time.last and (year - time.first) % step == 0:
            paper.text(x + 4, foot + 18, str(year), quiet=True)


def _strip(paper: Paper, time: _Time, strip: Strip, events: Sequence[Event], top: float, target_percent: float) -> None:
    paper.label(top + 16, strip.words)
    ground = top + HEAD_PX + STRIP_PX

    def y(percent: float) -> float:
        return ground - STRIP_PX * percent / 100

    for percent in (0, 50, 100):
        paper.line((LEFT_PX + SCALE_PX, RIGHT_PX), (y(percent), y(percent)), "edge" if percent == 0 else "rule")
        paper.text(LEFT_PX + SCALE_PX - 6, y(percent) + 5, f"{percent}%", align="right", quiet=True)
    aim = y(target_percent)
    paper.line((LEFT_PX + SCALE_PX, RIGHT_PX), (aim, aim), "edge", width=1.6, dash=(0, (5, 3)))
    _events(paper, time, events, top + HEAD_PX, ground)
    xs = [time.px(seen.day) for seen in strip.seen]
    if len(xs) > 1:
        paper.line(xs, [y(seen.likely) for seen in strip.seen], "a", width=1.6)
    for x, seen in zip(xs, strip.seen, strict=True):
        paper.bar((x - 3, x + 3), y(seen.high), y(seen.low) - y(seen.high), "a-wash", edge="a")
        paper.mark(x, y(seen.likely), "o", "a", size=7)


def _events(paper: Paper, time: _Time, events: Sequence[Event], top: float, ground: float) -> None:
    for event in events:
        x = time.px(event.day)
        if event.is_work:
            paper.mark(x, top + 6, "v", "b", size=9)
        else:
            paper.line((x, x), (top, ground), "edge", width=2.4)


def _table(strips: Sequence[Strip], events: Sequence[Event]) -> list[list[str]]:
    rows = [(event.day, [event.words, event.patch, "", "", ""]) for event in events]
    rows += [
        (seen.day, [strip.words, seen.patch, *(f"{value:.0f}%" for value in (seen.low, seen.likely, seen.high))])
        for strip in strips
        for seen in strip.seen
    ]
    return [[f"{day:%b} {day.day}, {day.year}", *told] for day, told in sorted(rows, key=lambda row: row[0])]
