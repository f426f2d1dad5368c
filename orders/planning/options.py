"""Every method for one patch side by side: does it fit, what it takes, what cover it leaves, what it asks for later."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np

from estimating.columns import FloatArray, Known
from estimating.errors import EstimatingError
from estimating.methods import Method as MethodFacts
from estimating.outlook import LIKELY, Outlook, assumptions, hours_ahead, outlook
from estimating.rate_book import RateBook as Rates
from estimating.suitability import Reason
from orders.common.errors import NotFound
from orders.estimates import convert
from orders.estimates.models import Estimate, Method, RateBook
from orders.estimates.selectors import methods, rate_book_in_force
from orders.planning.models import Prescription, Season
from orders.planning.overview import Overview, PatchLine, overview
from orders.planning.selectors import estimates_by_method
from orders.planning.windows import Days, SeasonWindows, SeedDue
from orders.sites.models import Patch

_ORDER = {"yes": 0, "unknown": 1, "no": 2}


@dataclass(frozen=True, kw_only=True)
class MethodOption:
    """One method on one patch. `cover_after` is low, likely, high at the end of year 1 and None where the rate book has
    no figures; `held_from` and `back_in` are years of the outlook, -1 for not within it; `hours_by_year` is empty where
    nothing can be estimated. `windows` are all that are open in the season, `days` the one to work in."""

    method: Method
    facts: MethodFacts
    fits: str
    reasons: tuple[Reason, ...]
    is_recommended: bool
    why: str
    estimate: Estimate | None
    volunteers: Estimate | None
    days: Days | None
    windows: tuple[Days, ...]
    notes: tuple[str, ...]
    chosen: Prescription | None
    cover_after: tuple[float, float, float] | None
    held_from: int
    back_in: int
    hours_by_year: tuple[float, ...]


@dataclass(frozen=True)
class Course:
    """Cover by year, 0 to 1."""

    low: tuple[float, ...]
    likely: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True)
class PatchOptions:
    """`options` with the recommended methods first, then what fits by cost; courses by method code. `trouble` says
    why the years ahead cannot be estimated, where that is so."""

    line: PatchLine
    options: tuple[MethodOption, ...]
    years: tuple[int, ...]
    untreated: Course
    once: Mapping[str, Course]
    kept_up: Mapping[str, Course]
    trouble: str = ""
    seed_dues: tuple[SeedDue, ...] = ()

    @property
    def recommended(self) -> tuple[MethodOption, ...]:
        return tuple(option for option in self.options if option.is_recommended)


def patch_options(patch: Patch, season: Season | None, repeat_years: Mapping[int, int], on: date) -> PatchOptions:
    """Every method for the patch's newest survey, by the rate book of a day."""
    found = overview(season, repeat_years, only=[patch])
    if not found.lines:
        raise NotFound("The patch has no survey that counts.")
    line = found.lines[0]
    book = rate_book_held(on)
    ahead, trouble = _hours_ahead(line, book, repeat_years, on)
    seen = _outlook(found, book)
    made, by_volunteers = (estimates_by_method([line.survey], kind) for kind in ("staff", "volunteers"))
    windows = None if season is None else SeasonWindows(season)
    options = [
        _option(
            found,
            line,
            method,
            seen,
            made.get((line.survey.pk, method.code)),
            by_volunteers.get((line.survey.pk, method.code)),
            ahead.get(method.code, ()),
            windows,
        )
        for method in methods()
        if method.is_active
    ]
    treats = [code for number, code in enumerate(seen.methods) if seen.treats[0, number]]
    return PatchOptions(
        line,
        tuple(sorted(options, key=_place)),
        seen.years,
        _course(seen.untreated[0]),
        {code: _course(seen.once[0, seen.methods.index(code)]) for code in treats},
        {code: _course(seen.kept_up[0, seen.methods.index(code)]) for code in treats},
        trouble,
        () if windows is None else tuple(windows.seed_dues(line.survey)),
    )


def _place(option: MethodOption) -> tuple[bool, bool, int, float]:
    cost = option.estimate.total_cents if option.estimate else float("inf")
    return not option.is_recommended, option.chosen is None, _ORDER[option.fits], cost


def rate_book_held(on: date) -> RateBook | None:
    """The staff crews' book of a day; None in a program that has none in force yet."""
    try:
        return rate_book_in_force(on=on)
    except NotFound:
        return None


def _outlook(found: Overview, book: RateBook | None) -> Outlook:
    """Under the allowances of the staff crews' rate book; a method treats what it is not refused on."""
    site = found.suited.site
    rates = Rates(()) if book is None else convert.rates(book)
    known = assumptions(rates, found.suited.methods.codes)
    return outlook(site.patches, site.components, found.suited.fits != int(Known.NO), known)


def _hours_ahead(
    line: PatchLine, book: RateBook | None, repeat_years: Mapping[int, int], on: date
) -> tuple[dict[str, tuple[float, ...]], str]:
    """By method the hours of each year; where they cannot be estimated, why."""
    if book is None:
        return {}, "No rate book is in force."
    try:
        asked = convert.estimate_inputs([line.survey], book, list(methods()), on=on, repeat_years=repeat_years)
        hours = hours_ahead(asked)
    except EstimatingError as error:
        return {}, f"The years ahead cannot be estimated: {error.message}."
    codes = [asked.jobs.methods[int(number)] for number in asked.jobs.method_index]
    told = {
        code: tuple(float(value) for value in row)
        for code, row in zip(codes, hours, strict=True)
        if np.isfinite(row).all()
    }
    return told, ""


def _option(
    found: Overview,
    line: PatchLine,
    method: Method,
    seen: Outlook,
    estimate: Estimate | None,
    volunteers: Estimate | None,
    ahead: tuple[float, ...],
    windows: SeasonWindows | None,
) -> MethodOption:
    number = found.suited.methods.codes.index(method.code)
    fits, reasons = found.suited.method_on_patch(line.row, number)
    low, likely, high = (float(value) for value in seen.after_one_season()[0, number])
    standing = [row for row in line.chosen if row.method_id == method.pk and row.state != "done"]
    return MethodOption(
        method=method,
        facts=found.suited.methods.methods[number],
        fits=fits.name.lower(),
        reasons=reasons,
        is_recommended=method.code in line.recommended,
        why=line.recommended.get(method.code, ""),
        estimate=estimate,
        volunteers=volunteers,
        days=None if windows is None else windows.days(line.survey, method.code),
        windows=() if windows is None else windows.all_days(line.survey, method.code),
        notes=() if windows is None else windows.notes(line.survey, method.code),
        chosen=standing[0] if standing else None,
        cover_after=(low, likely, high) if seen.known[number] else None,
        held_from=int(seen.reached_and_held()[0, number]),
        back_in=int(seen.back_above()[0, number]),
        hours_by_year=ahead,
    )


def _course(points: FloatArray) -> Course:
    """[year, point] as a course."""
    low, likely, high = (tuple(float(value) for value in column) for column in points.T)
    assert LIKELY == 1  # the order of the points
    return Course(low, likely, high)
