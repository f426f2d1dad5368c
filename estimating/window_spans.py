"""Windows of dates, and what can be done to them: made one, cut off at a span, cut out of, and asked for a day."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

DAY = timedelta(days=1)


@dataclass(frozen=True)
class Window:
    """Days on which the work may be done, both ends included."""

    opens: date
    closes: date
    opens_because: str
    closes_because: str

    @property
    def days(self) -> int:
        """How many days it is open."""
        return (self.closes - self.opens).days + 1


def merged(found: Iterable[Window]) -> list[Window]:
    """Windows in order, those that overlap or touch made one."""
    merged: list[Window] = []
    for window in sorted(found, key=lambda window: (window.opens, window.closes)):
        if not merged or window.opens > merged[-1].closes + DAY:
            merged.append(window)
        elif window.closes > merged[-1].closes:
            before = merged.pop()
            merged.append(Window(before.opens, window.closes, before.opens_because, window.closes_because))
    return merged


def clipped(found: Iterable[Window], first: date, last: date) -> list[Window]:
    """What lies within the span; an end that is cut off says so, and keeps its reason."""
    return [
        Window(
            max(window.opens, first),
            min(window.closes, last),
            window.opens_because if window.opens >= first else f"already open, since {window.opens_because}",
            window.closes_because
            if window.closes <= last
            else f"the season ends; goes on until {window.closes_because}",
        )
        for window in found
        if window.opens <= last and window.closes >= first
    ]


def cut_out(found: Iterable[Window], first: date, last: date, closes: str, opens: str) -> list[Window]:
    """The windows without some days; a window may fall into two."""
    left = []
    for window in found:
        if last < window.opens or first > window.closes:
            left.append(window)
            continue
        if window.opens < first:
            left.append(Window(window.opens, first - DAY, window.opens_because, closes))
        if window.closes > last:
            left.append(Window(last + DAY, window.closes, opens, window.closes_because))
    return left
