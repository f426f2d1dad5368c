"""Days on which a site is closed to work, or a label forbids a product, taken out of windows with the reason."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from estimating.errors import InvalidFact, UnknownCode
from estimating.window_spans import DAY, Window, cut_out

CLOSURE_KINDS = {
    "event": "an event",
    "hunting": "hunting",
    "nesting": "nests or roosts",
    "wet_ground": "wet ground",
    "burn": "a prescribed burn",
    "other": "",
}


@dataclass(frozen=True)
class Closure:
    """Days, first and last included, on which the site is closed to work, or to some methods by their codes."""

    first: date
    last: date
    reason: str
    kind: str = "other"
    methods: frozenset[str] | None = None

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise InvalidFact("must not be before the first day", "last")
        if self.kind not in CLOSURE_KINDS:
            raise UnknownCode(f"{self.kind!r} is none of {', '.join(CLOSURE_KINDS)}", "kind")

    def keeps_out(self, method: str) -> bool:
        """Does it close the site to a method?"""
        return self.methods is None or method in self.methods

    @property
    def words(self) -> str:
        """Whom it keeps out, what for and why, to stand after "the site closes" or "opens"."""
        whom = "" if self.methods is None else " to this method"
        what = f" for {CLOSURE_KINDS[self.kind]}" if CLOSURE_KINDS[self.kind] else ""
        return f"{whom}{what}{': ' if self.reason else ''}{self.reason}"


@dataclass(frozen=True, kw_only=True)
class LabelInterval:
    """What a label says of using a product on the same ground again.

    Not before `least_days` after the last use; with `most_uses_a_year`, no more than so many of the uses `used_on` in
    one calendar year. Limits by amount are the label guard's. Mandatory: nothing here may shorten or override them.
    """

    product: str
    last_used_on: date
    least_days: int
    most_uses_a_year: int | None = None
    used_on: tuple[date, ...] = ()

    def __post_init__(self) -> None:
        if self.least_days < 0:
            raise InvalidFact("must be 0 or more", "least_days")
        if self.most_uses_a_year is not None and self.most_uses_a_year < 1:
            raise InvalidFact("must be 1 or more, or left out", "most_uses_a_year")

    @property
    def opens(self) -> date:
        """The first day on which the label's interval is over."""
        return self.last_used_on + timedelta(days=self.least_days)

    def years_used_up(self) -> list[int]:
        """Calendar years with as many uses as the label allows, the last use counted with the others."""
        if self.most_uses_a_year is None:
            return []
        years = [day.year for day in {*self.used_on, self.last_used_on}]
        return sorted(year for year in set(years) if years.count(year) >= self.most_uses_a_year)


def less_closures(found: list[Window], method: str, closures: Iterable[Closure]) -> list[Window]:
    """The windows of a method, by its code, without the days of closures that keep it out."""
    for closure in sorted(closures, key=lambda closure: (closure.first, closure.last)):
        if closure.keeps_out(method):
            words = closure.words
            found = cut_out(found, closure.first, closure.last, f"the site closes{words}", f"the site opens{words}")
    return found


def less_labels(found: list[Window], labels: Iterable[LabelInterval]) -> list[Window]:
    """Nothing before a label's interval is over, and nothing in a year whose uses are used up."""
    for label in labels:
        since = f"the use of {label.product} on {label.last_used_on.isoformat()}"
        over = f"the label's interval of {label.least_days} days after {since} is over"
        found = cut_out(found, date.min, label.opens - DAY, "", over)
        for year in label.years_used_up():
            most = f"{label.most_uses_a_year} use{'' if label.most_uses_a_year == 1 else 's'} a year of {label.product}"
            up, over = f"the label's {most} are used up in {year}", f"{year} is over, with the label's {most}"
            found = cut_out(found, date(year, 1, 1), date(year, 12, 31), up, over)
    return found
