"""The season's pictures: windows, visits and deadlines along its days, and the load of its crews.

Plain data in, SVG out, as in charts.py. A visit's state shows by the filling and the height of its bar, a deadline's by
the shape of its mark.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from orders.desk.chart_svg import INK, Chart
from orders.desk.charts_kept import drawn_once
from orders.desk.charts_paper import LEFT_PX, RIGHT_PX, SEE_TABLE, Paper, empty, exact

LABELS_PX, MOST_LABELS_PX = 178.0, 330.0  # the lanes' names, at the left
CHARACTER_PX = 8.2
LABEL_CHARACTERS = 22
LANE_PX, STRIP_PX = 30.0, 78.0
KEY_PX, FOOT_PX = 60.0, 46.0
WEEKS_UP_TO_DAYS = 75  # shorter spans get weeks at their foot, longer ones months
CLOSE_PX = 2.5  # bars of one state as near as this are drawn as one
LEAST_PX = 4.0
MOST_LINKS = 60

# state -> filling, edge, hatch, height of its bar
LOOKS: dict[str, tuple[str, str, str, float]] = {
    "proposed": ("sheet", "b", "", 10.0),
    "planned": ("b-wash", "b", "////", 12.0),
    "ordered": ("b", "b", "", 14.0),
    "done": ("a", "a", "", 18.0),
}
STATE_WORDS = {
    "proposed": "proposed",
    "planned": "planned",
    "ordered": "on an order",
    "done": "done",
}
MET, OWED, LATE = "met", "owed", "late"
DEADLINE_MARKS = {MET: ("D", "a", False), OWED: ("D", "c", True), LATE: ("X", "c", False)}
DEADLINE_WORDS = {MET: "deadline met", OWED: "deadline owed", LATE: "deadline late"}

Span = tuple[date, date]


@dataclass(frozen=True)
class Stop:
    """A crew's day on a lane."""

    day: date
    state: str
    hours: float


@dataclass(frozen=True)
class Lane:
    """One row of the season's picture."""

    label: str
    windows: Sequence[Span] = ()
    stops: Sequence[Stop] = ()
    deadlines: Sequence[tuple[date, str]] = ()
    closures: Sequence[Span] = ()


@dataclass(frozen=True)
class Link:
    """A step and the one that follows it: lane and day of each."""

    first_lane: int
    first_day: date
    second_lane: int
    second_day: date


@dataclass(frozen=True)
class Days:
    """Days to pixels across."""

    first: date
    last: date
    left_px: float = LEFT_PX + LABELS_PX
    right_px: float = RIGHT_PX

    @property
    def day_px(self) -> float:
        return (self.right_px - self.left_px) / ((self.last - self.first).days + 1)

    def px(self, day: date) -> float:
        """Where a day begins."""
        return self.left_px + self.day_px * (day - self.first).days

    def span(self, first: date, last: date) -> tuple[float, float] | None:
        """From the first day's beginning to the last one's end, cut to what is shown."""
        if last < self.first or first > self.last:
            return None
        return self.px(max(first, self.first)), self.px(min(last, self.last) + timedelta(days=1))

    def holds(self, day: date) -> bool:
        return self.first <= day <= self.last

    def ticks(self) -> list[tuple[date, str]]:
        """Where weeks or months begin, and what is written there."""
        if (self.last - self.first).days <= WEEKS_UP_TO_DAYS:
            start = self.first + timedelta(days=-self.first.weekday() % 7)
            mondays = range((self.last - start).days // 7 + 1)
            return [(day, f"{day:%b} {day.day}") for day in (start + timedelta(weeks=n) for n in mondays)]
        month, ticks = self.first.replace(day=1), []
        while month <= self.last:
            ticks.append((max(month, self.first), f"{month:%b}"))
            month = (month + timedelta(days=32)).replace(day=1)
        return ticks

    def draw(self, paper: Paper, top: float, foot: float) -> None:
        written_to, year = 0.0, 0
        for day, words in self.ticks():
            x = self.px(day)
            paper.line((x, x), (top, foot), "rule", width=0.8)
            if x >= written_to and x + 30 < self.right_px:
                paper.text(x + 3, foot + 16, words, quiet=True)
                if day.year != year:
                    paper.text(x + 3, foot + 33, str(day.year), quiet=True)
                written_to, year = x + 8 + 7.5 * len(words), day.year


@dataclass
class _Run:
    """Bars of one state that lie so close that one is drawn."""

    left: float
    right: float
    state: str


@drawn_once
def season_chart(title: str, first: date, last: date, lanes: Sequence[Lane], links: Sequence[Link] = ()) -> Chart:
    """Windows, visits and deadlines of each lane from the first day to the last; `links` join the steps of chains."""
    headings = ["Row", "Windows", "Visits", "Hours", "First to last visit", "Deadlines"]
    if not lanes:
        return empty(title, headings)
    days = Days(first, last, left_px=LEFT_PX + _labels_px(lanes))
    foot = KEY_PX + LANE_PX * len(lanes)
    paper = Paper(foot + FOOT_PX)
    _key(paper)
    days.draw(paper, KEY_PX - 6, foot + 4)
    for number, lane in enumerate(lanes):
        _lane(paper, days, lane, KEY_PX + LANE_PX * number)
    for link in links[:MOST_LINKS]:
        _link(paper, days, link)
    told = f"One row for each of {len(lanes)}: windows as light bands, visits as bars, deadlines as marks. {SEE_TABLE}"
    return paper.chart(title, told, headings, [_lane_row(days, lane) for lane in lanes], of_words=True)


def _labels_px(lanes: Iterable[Lane]) -> float:
    """Room for the longest name, within bounds."""
    return min(MOST_LABELS_PX, max(LABELS_PX, CHARACTER_PX * max(len(lane.label) for lane in lanes)))


def _cut(label: str, characters: int) -> str:
    return label if len(label) <= characters else f"{label[: characters - 1]}…"


def _key(paper: Paper) -> None:
    """What the fillings and marks mean."""
    x = LEFT_PX
    for state, words in STATE_WORDS.items():
        _bar(paper, (x, x + 20), 12, state)
        paper.text(x + 26, 17, words)
        x += 44 + 7.6 * len(words)
    x = LEFT_PX
    paper.bar((x, x + 20), 28, 14, "rule", edge="edge")
    paper.text(x + 26, 40, "window")
    x += 92
    _closure(paper, (x, x + 20), 28)
    paper.text(x + 26, 40, "closed")
    x += 92
    for state, words in DEADLINE_WORDS.items():
        _deadline(paper, x + 8, 35, state)
        paper.text(x + 22, 40, words)
        x += 40 + 7.6 * len(words)


def _bar(paper: Paper, x: tuple[float, float], middle: float, state: str) -> None:
    fill, edge, hatch, height = LOOKS[state]
    paper.bar(x, middle - height / 2, height, fill, edge=edge, hatch=hatch)


def _closure(paper: Paper, x: tuple[float, float], top: float) -> None:
    paper.bar(x, top, 14, "sheet", edge="edge", hatch="\\\\\\\\")


def _deadline(paper: Paper, x: float, y: float, state: str) -> None:
    """With a rim, so that it stands out from a bar beneath."""
    shape, color, hollow = DEADLINE_MARKS[state]
    paper.mark(x, y, shape, "sheet", size=12)
    paper.mark(x, y, shape, color, hollow=hollow, size=8)


def _lane(paper: Paper, days: Days, lane: Lane, top: float) -> None:
    middle = top + LANE_PX / 2
    paper.line((LEFT_PX, RIGHT_PX), (top, top), "rule", width=0.6)
    paper.text(LEFT_PX, middle + 5, _cut(lane.label, int((days.left_px - LEFT_PX) / CHARACTER_PX)))
    for window in merged(lane.windows):
        if x := days.span(*window):
            paper.bar(x, top + 5, LANE_PX - 10, "rule", edge="edge")
    for closure in lane.closures:
        if x := days.span(*closure):
            _closure(paper, x, middle - 7)
    for run in _runs(days, lane.stops):
        _bar(paper, (run.left, max(run.right, run.left + LEAST_PX)), middle, run.state)
    for day, state in lane.deadlines:
        if days.holds(day):
            _deadline(paper, days.px(day) + days.day_px / 2, middle, state)


def _runs(days: Days, stops: Iterable[Stop]) -> list[_Run]:
    runs: list[_Run] = []
    for stop in sorted(stops, key=lambda one: (one.state, one.day)):
        x = days.span(stop.day, stop.day)
        if x is None:
            continue
        if runs and runs[-1].state == stop.state and x[0] - runs[-1].right < CLOSE_PX:
            runs[-1].right = x[1]
        else:
            runs.append(_Run(*x, stop.state))
    return runs


def _link(paper: Paper, days: Days, link: Link) -> None:
    if days.holds(link.first_day) and days.holds(link.second_day):
        xs = [days.px(day) + days.day_px / 2 for day in (link.first_day, link.second_day)]
        ys = [KEY_PX + LANE_PX * (lane + 0.5) for lane in (link.first_lane, link.second_lane)]
        paper.line(xs, ys, "edge", width=1.2, dash=":")


def merged(spans: Iterable[Span]) -> list[Span]:
    """Spans that touch or overlap made one, in order."""
    made: list[Span] = []
    for first, last in sorted(spans):
        if made and first <= made[-1][1] + timedelta(days=1):
            made[-1] = made[-1][0], max(made[-1][1], last)
        else:
            made.append((first, last))
    return made


def day_words(day: date) -> str:
    return f"{day:%b} {day.day}, {day.year}"


def _lane_row(days: Days, lane: Lane) -> list[str]:
    stops = sorted((stop for stop in lane.stops if days.holds(stop.day)), key=lambda stop: stop.day)
    windows = [span for span in merged(lane.windows) if days.span(*span)]
    owed = [f"{day_words(day)} {state}" for day, state in lane.deadlines if days.holds(day)]
    counts = {state: sum(stop.state == state for stop in stops) for state in STATE_WORDS}
    return [
        lane.label,
        "; ".join(f"{day_words(first)} to {day_words(last)}" for first, last in windows),
        ", ".join(f"{count} {STATE_WORDS[state]}" for state, count in counts.items() if count) or "0",
        exact(sum(stop.hours for stop in stops), "h"),
        f"{day_words(stops[0].day)} to {day_words(stops[-1].day)}" if stops else "",
        "; ".join(owed),
    ]


@dataclass(frozen=True)
class Week:
    """A crew's week: what its visits ask for and what it can give, in person-hours."""

    monday: date
    hours: float
    capacity_hours: float


@drawn_once
def load_chart(title: str, crews: Sequence[tuple[str, Sequence[Week]]]) -> Chart:
    """Each crew's weeks as bars against the line of what it can give; all crews over the same weeks."""
    mondays = sorted({week.monday for _, weeks in crews for week in weeks})
    headings = ["Week of", *(name for name, _ in crews)]
    if not mondays:
        return empty(title, headings)
    days = Days(mondays[0], mondays[-1] + timedelta(days=6))
    foot = 34 + STRIP_PX * len(crews)
    paper = Paper(foot + FOOT_PX)
    _load_key(paper)
    days.draw(paper, 28, foot + 4)
    for number, (name, weeks) in enumerate(crews):
        _strip(paper, days, name, weeks, 34 + STRIP_PX * number)
    told = f"One strip for each of {len(crews)} crews; a bar above the line is more than the crew can give. {SEE_TABLE}"
    by_crew = [{week.monday: week for week in weeks} for _, weeks in crews]
    rows = [[day_words(monday), *(_week_words(weeks.get(monday)) for weeks in by_crew)] for monday in mondays]
    return paper.chart(title, told, headings, rows)


def _week_words(week: Week | None) -> str:
    return "" if week is None else f"{week.hours:,.1f} of {week.capacity_hours:,.1f} h"


def _load_key(paper: Paper) -> None:
    paper.bar((LEFT_PX, LEFT_PX + 20), 6, 12, "b-wash", edge="b")
    paper.text(LEFT_PX + 26, 17, "hours of its visits")
    paper.bar((LEFT_PX + 170, LEFT_PX + 190), 6, 12, "c", edge="c")
    paper.text(LEFT_PX + 196, 17, "more than it can give")
    paper.line((LEFT_PX + 370, LEFT_PX + 400), (12, 12), INK, width=1.6)
    paper.text(LEFT_PX + 406, 17, "what it can give")


def _strip(paper: Paper, days: Days, name: str, weeks: Sequence[Week], top: float) -> None:
    foot, most = top + STRIP_PX - 8, max((max(week.hours, week.capacity_hours) for week in weeks), default=0.0)
    paper.line((LEFT_PX, RIGHT_PX), (foot, foot), "edge", width=0.8)
    paper.text(LEFT_PX, top + 22, _cut(name, LABEL_CHARACTERS))
    asked, gives = sum(week.hours for week in weeks), sum(week.capacity_hours for week in weeks)
    paper.text(LEFT_PX, top + 42, f"{asked:,.0f} of {gives:,.0f} h", quiet=True)
    if most <= 0:
        return
    height = (STRIP_PX - 22) / most
    line: list[tuple[float, float]] = []
    for week in sorted(weeks, key=lambda one: one.monday):
        left, right = days.px(week.monday), days.px(week.monday + timedelta(days=7))
        within = min(week.hours, week.capacity_hours)
        if within > 0:
            paper.bar((left + 1, right - 1), foot - within * height, within * height, "b-wash", edge="b")
        if (over := week.hours - within) > 1e-6:
            paper.bar((left + 1, right - 1), foot - week.hours * height, over * height, "c", edge="c")
        line += [(left, foot - week.capacity_hours * height), (right, foot - week.capacity_hours * height)]
    paper.line([x for x, _ in line], [y for _, y in line], INK, width=1.6)
