"""What a map is asked: a season, a measure, and which patches."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

from orders.planning.models import Season
from orders.reports.ground.rows import GroundRow

COVER_DECIMALS = 4  # a mean of covers is not quite the 30% that all of them are


@dataclass(frozen=True, kw_only=True)
class GroundQuestion:
    """Every field narrows, an empty one does not. Site, species, form and method by code; cover as shares. `seed` is
    "none" for patches without a seed deadline; `method` "none" for those where nothing is chosen."""

    season: Season | None = None
    site: str = ""
    species: str = ""
    form: str = ""
    control_state: str = ""
    method: str = ""
    cover_from: float | None = None
    cover_to: float | None = None
    seed_from: date | None = None
    seed_to: date | None = None
    text: str = ""

    @property
    def narrowed(self) -> int:
        """How many of the fields narrow."""
        return sum(value not in ("", None) for name, value in vars(self).items() if name != "season")

    def among(self, rows: Iterable[GroundRow]) -> list[GroundRow]:
        """Those that it asks for; a field that does not narrow is not looked at."""
        tests = [test for names, test in TESTS if any(getattr(self, name) not in ("", None) for name in names)]
        return [row for row in rows if all(test(self, row) for test in tests)]


def _method(question: GroundQuestion, row: GroundRow) -> bool:
    return not row.chosen if question.method == "none" else question.method in row.chosen


def _cover(question: GroundQuestion, row: GroundRow) -> bool:
    low, high = question.cover_from, question.cover_to
    cover = round(row.cover, COVER_DECIMALS)
    return (low is None or cover >= low) and (high is None or cover <= high)


def _seed(question: GroundQuestion, row: GroundRow) -> bool:
    low, high = question.seed_from, question.seed_to
    due = row.seed_due_on
    return due is not None and (low is None or due >= low) and (high is None or due <= high)


def _text(question: GroundQuestion, row: GroundRow) -> bool:
    wanted = question.text.strip().lower()
    return wanted in f"{row.site} {row.code} {row.name} {row.site_name}".lower()


TESTS: tuple[tuple[tuple[str, ...], Callable[[GroundQuestion, GroundRow], bool]], ...] = (
    (("site",), lambda question, row: question.site == row.site),
    (("species",), lambda question, row: question.species in row.species),
    (("form",), lambda question, row: question.form in row.forms),
    (("control_state",), lambda question, row: question.control_state == row.control_state),
    (("method",), _method),
    (("cover_from", "cover_to"), _cover),
    (("seed_from", "seed_to"), _seed),
    (("text",), _text),
)
