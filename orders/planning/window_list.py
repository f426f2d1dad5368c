"""The windows of a season, patch by patch and method by method: narrowed and sorted for lists."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from estimating.seeds import SeedDeadline
from estimating.timing import WindowReport
from estimating.window_spans import Window
from orders.common.errors import FieldError, Invalid
from orders.estimates.models import Method
from orders.estimates.selectors import methods
from orders.planning.models import Prescription
from orders.planning.overview import Overview, PatchLine
from orders.planning.windows import SeasonWindows

FAR = date.max
SHOWN = (("used", "Recommended or chosen"), ("all", "Every method"))
OPEN = (("", "Open or not"), ("yes", "With a window"), ("no", "Without a window"))


@dataclass(frozen=True, kw_only=True)
class WindowQuestion:
    """Which rows: every field narrows, an empty one does not. Site, method and species by code; `text` looks into the
    patch, the method and the reasons."""

    site: str = ""
    method: str = ""
    species: str = ""
    text: str = ""
    shown: str = "used"
    is_open: str = ""
    sort: str = "patch"


@dataclass(frozen=True, kw_only=True)
class WindowLine:
    """One method on one patch: its windows in the season, or why there is none, and the seed deadline that it meets."""

    line: PatchLine
    method: Method
    is_recommended: bool
    chosen: Prescription | None
    report: WindowReport
    seed: SeedDeadline | None

    @property
    def windows(self) -> tuple[Window, ...]:
        return self.report.windows

    @property
    def opens(self) -> date | None:
        return self.windows[0].opens if self.windows else None

    @property
    def closes(self) -> date | None:
        return self.windows[-1].closes if self.windows else None

    @property
    def days(self) -> int:
        return sum(window.days for window in self.windows)

    @property
    def species(self) -> list[str]:
        return list(dict.fromkeys(part.species.code for part in self.line.survey.components.all()))

    @property
    def place(self) -> tuple[str, str, str]:
        return self.line.patch.site.code, self.line.patch.code, self.method.code


SORTS: dict[str, Callable[[WindowLine], Any]] = {
    "patch": lambda row: row.place,
    "method": lambda row: (row.method.name, row.place),
    "opens": lambda row: (row.opens or FAR, row.place),
    "closes": lambda row: (row.closes or FAR, row.place),
    "days": lambda row: (row.days, row.place),
}


def window_lines(found: Overview, windows: SeasonWindows, question: WindowQuestion) -> list[WindowLine]:
    """The rows that a question asks for, in its order; `-` before the sort turns it."""
    name = question.sort.removeprefix("-")
    if name not in SORTS:
        message = f"must be one of {', '.join(SORTS)}, with - before it for downwards"
        raise Invalid("The windows cannot be sorted that way.", [FieldError("sort", message)])
    known = list(methods())
    kept = [row for line in found.lines for row in _of_patch(line, known, windows, question) if _asked(row, question)]
    return sorted(kept, key=SORTS[name], reverse=question.sort.startswith("-"))


def _of_patch(
    line: PatchLine, known: list[Method], windows: SeasonWindows, question: WindowQuestion
) -> Iterator[WindowLine]:
    if question.site not in ("", line.patch.site.code):
        return
    chosen = {row.method_id: row for row in line.chosen}
    seed = windows.seed_due(line.survey)
    for method in known:
        used = method.code in line.recommended or method.pk in chosen
        if question.method not in ("", method.code) or not (used or question.shown == "all"):
            continue
        yield WindowLine(
            line=line,
            method=method,
            is_recommended=method.code in line.recommended,
            chosen=chosen.get(method.pk),
            report=windows.report(line.survey, method.code),
            seed=seed if windows.methods[method.code].removes_fruit else None,
        )


def _asked(row: WindowLine, question: WindowQuestion) -> bool:
    is_open = "yes" if row.windows else "no"
    return (
        question.species in ("", *row.species)
        and question.is_open in ("", is_open)
        and question.text.lower().strip() in _text(row)
    )


def _text(row: WindowLine) -> str:
    patch = row.line.patch
    reasons = (f"{window.opens_because} {window.closes_because}" for window in row.windows)
    return " ".join([str(patch), patch.name, patch.site.name, row.method.name, *reasons, *row.report.notes]).lower()
