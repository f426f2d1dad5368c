"""Pictures of one site: its own records of the seasons over the years, and the degree days of a year beside others."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from orders.desk.chart_svg import Chart
from orders.desk.charts import lines
from orders.desk.charts_kept import drawn_once
from orders.desk.charts_paper import LEFT_PX, RIGHT_PX, SEE_TABLE, Paper, empty

ROW_PX, KEY_PX, FOOT_PX = 48.0, 30.0, 34.0
COMMON_YEAR = 2001
LAST_MONTH = date(COMMON_YEAR + 1, 4, 1)  # what belongs to a season may come to pass in the winter after it
FIRST = date(COMMON_YEAR, 1, 1)


@dataclass(frozen=True)
class KindOfDay:
    """One kind of record: the day in each year, moved to one year, and the mean with its spread in days."""

    words: str
    days: Mapping[int, date]
    mean: date
    spread_days: float | None


def _px(day: date) -> float:
    share = (day - FIRST).days / (LAST_MONTH - FIRST).days
    return LEFT_PX + 8 + (RIGHT_PX - LEFT_PX - 16) * share


@drawn_once
def calendar_spread(title: str, rows: Sequence[KindOfDay]) -> Chart:
    """A row for each kind: a dot for each year on record, a band of the spread, and a bar at the mean."""
    headings = ["Record", "Mean", "Spread, days", "Years", "Earliest", "Latest"]
    if not rows:
        return empty(title, headings)
    paper = Paper(len(rows) * ROW_PX + KEY_PX + FOOT_PX)
    _key(paper)
    foot = paper.height_px - FOOT_PX + 4
    for month in range(15):
        first = date(COMMON_YEAR + month // 12, month % 12 + 1, 1)
        x = _px(first)
        paper.line((x, x), (KEY_PX, foot), "edge" if month == 12 else "rule", width=1.2 if month == 12 else 0.8)
        paper.text(x + 4, foot + 18, f"{first:%b}", quiet=True)
    for number, row in enumerate(rows):
        _row(paper, row, KEY_PX + number * ROW_PX)
    told = (
        f"{len(rows)} kinds of record over one year and the winter after it: a dot for each year, a band from the mean "
        f"less the spread to the mean and the spread, and a thick mark at the mean. {SEE_TABLE}"
    )
    return paper.chart(title, told, headings, [_told(row) for row in rows])


def _key(paper: Paper) -> None:
    paper.mark(LEFT_PX + 12, 12, "o", "b", hollow=True, size=8)
    paper.text(LEFT_PX + 24, 17, "a year")
    paper.bar((LEFT_PX + 100, LEFT_PX + 134), 5, 14, "a-wash", edge="a")
    paper.text(LEFT_PX + 140, 17, "mean and spread")


def _row(paper: Paper, row: KindOfDay, top: float) -> None:
    paper.label(top + 14, row.words)
    if row.spread_days is not None:
        spread = timedelta(days=row.spread_days)
        paper.bar((_px(row.mean - spread), _px(row.mean + spread)), top + 20, 18, "a-wash", edge="a")
    middle = _px(row.mean)
    paper.bar((middle - 2, middle + 2), top + 17, 24, "a")
    for day in row.days.values():
        paper.mark(_px(day), top + 29, "o", "b", hollow=True, size=7)


def _told(row: KindOfDay) -> list[str]:
    spread = "one year only" if row.spread_days is None else f"{row.spread_days:.1f}"
    ends = (min(row.days.values()), max(row.days.values()))
    return [row.words, _day(row.mean), spread, str(len(row.days)), *(_day(end) for end in ends)]


def _day(day: date) -> str:
    return f"{day:%b} {day.day}"


@drawn_once
def degree_day_course(title: str, until: Sequence[date], years: Mapping[int, Sequence[float]]) -> Chart:
    """The running sum of a year beside those before it, at the ends of its months."""
    steps = [_day(day) for day in until]
    newest = sorted(years, reverse=True)
    return lines(title, steps, [(str(year), None, list(years[year]), None) for year in newest], "")
