"""A map's answer: the patches that a question asks for, each in a class of one measure."""

from collections import Counter
from dataclasses import dataclass
from datetime import date

from orders.estimates.selectors import method_names
from orders.reports.ground.kept import ground_rows_kept, recommended_kept
from orders.reports.ground.measures import MEASURES, Around, GroundClass, Measure
from orders.reports.ground.question import GroundQuestion
from orders.reports.ground.recommended import methods_leading
from orders.reports.ground.rows import GroundRow
from orders.workorders.selectors import repeat_years


@dataclass(frozen=True)
class ShownPatch:
    """A row with its class (a place in the legend), its figure, and that in words."""

    row: GroundRow
    at: int
    value: float | None
    told: str


@dataclass(frozen=True)
class Legend:
    """A class with how many patches are in it, and whether they are shown."""

    kind: GroundClass
    count: int
    is_shown: bool


@dataclass(frozen=True)
class GroundPicture:
    """`asked` are all that the question asks for, `shown` those whose class is not switched off."""

    measure: Measure
    legend: tuple[Legend, ...]
    asked: tuple[ShownPatch, ...]

    @property
    def shown(self) -> list[ShownPatch]:
        return [one for one in self.asked if self.legend[one.at].is_shown]

    @property
    def sites(self) -> list[str]:
        return sorted({one.row.site for one in self.asked})


def ground_picture(*, question: GroundQuestion, by: str, on: date, only: frozenset[str] | None = None) -> GroundPicture:
    """`only` are the keys of the classes that are shown; None: all. Limits of classes are of all patches that the
    question asks for, so that switching one off does not move the others."""
    rows = question.among(ground_rows_kept(question.season, on))
    measure = MEASURES[by]
    found = measure.sort(rows, _around(question, by, on))
    counts = Counter(found.of_row)
    legend = tuple(Legend(kind, counts[at], only is None or kind.key in only) for at, kind in enumerate(found.classes))
    shown = zip(rows, found.of_row, found.values, found.told, strict=True)
    return GroundPicture(measure, legend, tuple(ShownPatch(*one) for one in shown))


def _around(question: GroundQuestion, by: str, on: date) -> Around:
    """The recommendation is computed and not stored: it is asked for where the measure needs it alone."""
    names = method_names()
    if by != "recommended":
        return Around(on, names, {})
    day = question.season.first_day if question.season else on
    made = recommended_kept(question.season, on, lambda: methods_leading(repeat_years(on=day)))
    return Around(on, names, made)
