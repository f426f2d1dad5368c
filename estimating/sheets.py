"""The sheets that can be asked for: their entries, and the function that fills them in."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from estimating.errors import InvalidFact, UnknownCode
from estimating.sheets_acid import ACID_ENTRIES, acid_sheet
from estimating.sheets_mixing import PERCENT_ENTRIES, RATE_ENTRIES, percent_sheet, rate_sheet
from estimating.sheets_sprayer import COURSE_ENTRIES, PLOT_ENTRIES, course_sheet, plot_sheet
from estimating.worksheet import Asked, Entry, Sheet


@dataclass(frozen=True)
class SheetKind:
    """A sheet by its code: what it is called, what it is for, its entries."""

    title: str
    about: str
    entries: tuple[Entry, ...]
    fill: Callable[[Asked], Sheet]


SHEETS: Mapping[str, SheetKind] = {
    "plot": SheetKind(
        "Calibrate on a plot",
        "Mark out a plot, spray it as you would the plants, time it, and catch the spray for the same time.",
        PLOT_ENTRIES,
        plot_sheet,
    ),
    "course": SheetKind(
        "Calibrate along a course",
        "Time a course at working speed, then catch the nozzles at the same pressure.",
        COURSE_ENTRIES,
        course_sheet,
    ),
    "percent": SheetKind(
        "Mix by percent", "Product and water for a tank by percent of volume.", PERCENT_ENTRIES, percent_sheet
    ),
    "rate": SheetKind(
        "Mix by rate per acre",
        "Product and water for a tank by the label's rate per acre, at your calibrated spray volume.",
        RATE_ENTRIES,
        rate_sheet,
    ),
    "acid": SheetKind(
        "Acid equivalent per acre",
        "What a rate brings onto an acre, summed with earlier work, against the label's limit.",
        ACID_ENTRIES,
        acid_sheet,
    ),
}


def sheet_filled(code: str, given: Mapping[str, str]) -> Sheet:
    """A sheet from text, as a form or an address gives it; empty text counts as left out.

    Errors: `UnknownCode` for a sheet that is not, `InvalidFact` with the entry's name for what cannot be.
    """
    kind = sheet_kind(code)
    return kind.fill({entry.name: read(entry, given.get(entry.name, "")) for entry in kind.entries})


def sheet_kind(code: str) -> SheetKind:
    """A sheet by its code."""
    if code not in SHEETS:
        raise UnknownCode(f"must be one of {', '.join(SHEETS)}", "sheet")
    return SHEETS[code]


def entry_errors(code: str, given: Mapping[str, str]) -> dict[str, str]:
    """What is wrong with each entry by itself, so that a form can say all of it at once."""
    found = {}
    for entry in sheet_kind(code).entries:
        try:
            read(entry, given.get(entry.name, ""))
        except InvalidFact as wrong:
            found[entry.name] = wrong.message
    return found


def read(entry: Entry, text: str) -> float | str | None:
    """The value of an entry: within its range or of its words; None where it is left out and may be."""
    text = text.strip()
    if not text:
        if entry.needed and entry.usual is None:
            raise InvalidFact("is needed", entry.name)
        return entry.usual
    if entry.words:
        if text not in entry.words:
            raise InvalidFact(f"must be one of {', '.join(entry.words)}", entry.name)
        return text
    return _number(entry, text)


def _number(entry: Entry, text: str) -> float:
    try:
        value = float(text) if text.isascii() and "_" not in text else float("nan")
    except ValueError:
        value = float("nan")
    if entry.whole and not value.is_integer():
        raise InvalidFact("must be a whole number", entry.name)
    if not entry.low <= value <= entry.high:
        raise InvalidFact(f"must be a number from {entry.low:g} to {entry.high:,g}", entry.name)
    return value
