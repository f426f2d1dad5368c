"""The rate book: all rates, factors, allowances and spreads of one dated version, ready for arrays."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from estimating.columns import BoolArray, FloatArray, IntArray
from estimating.errors import InvalidRate
from estimating.inputs import GROWTH_FORMS, CrewDay
from estimating.rate_rows import COMPONENT_DRIVERS, COMPONENT_FACTORS, RateRow, rate_row

# Allowance in minutes of the crew's day, by field of CrewDay.
DAY_MINUTES = ("briefing_minutes", "setup_minutes", "cleanup_minutes", "break_minutes")
ALLOWANCE_BASIS_UNITS = {"share of job": "job", "share of shift": "shift"}


@dataclass(frozen=True)
class Bands:
    """A multiplier in bands: 1 below the first threshold, then the value of the last threshold reached."""

    driver: str
    thresholds: tuple[float, ...]
    values: tuple[float, ...]
    sources: tuple[str, ...]

    def reached(self, measured: FloatArray) -> IntArray:
        """How many thresholds each measured value has reached; a missing value has reached none."""
        known = np.where(np.isnan(measured), -np.inf, measured)
        return np.searchsorted(np.array(self.thresholds), known, side="right")

    def at(self, measured: FloatArray) -> FloatArray:
        """The multiplier of each measured value."""
        return np.array((1.0, *self.values))[self.reached(measured)]


@dataclass(frozen=True, eq=False)
class Step:
    """One step of a method; arrays are by growth form. `hours_per_unit` NaN: the step does not treat that form."""

    method: str
    name: str
    driver: str
    skill: str
    hours_per_unit: FloatArray
    cover_exponent: FloatArray
    shared_spread: FloatArray
    own_spread: FloatArray
    rows: tuple[RateRow | None, ...]
    factors: tuple[Bands, ...]

    @property
    def by_component(self) -> bool:
        """Whether the quantity lives with each component, and not with the job as a whole."""
        return self.driver in COMPONENT_DRIVERS

    @property
    def patch_factors(self) -> tuple[Bands, ...]:
        """Factors that are the same for all of a patch."""
        return tuple(bands for bands in self.factors if bands.driver not in COMPONENT_FACTORS)

    @property
    def component_factors(self) -> tuple[Bands, ...]:
        """Factors of the component itself."""
        return tuple(bands for bands in self.factors if bands.driver in COMPONENT_FACTORS)


def _treated_forms(rows: Iterable[RateRow]) -> tuple[str, ...]:
    """Growth forms that a method's rates name; where they name none, the method treats all."""
    named = {row.growth_form for row in rows if row.growth_form}
    return tuple(form for form in GROWTH_FORMS if form in named) or GROWTH_FORMS


def _form_rows(rows: list[RateRow], treated: tuple[str, ...]) -> tuple[RateRow | None, ...]:
    """The row of each growth form that the method treats: its own, else the one for all forms."""
    found: dict[str, RateRow] = {}
    for row in rows:
        if row.growth_form in found:
            raise InvalidRate(f"step {row.step!r} has this form twice", "growth_form", row.number)
        found[row.growth_form] = row
    return tuple(found.get(form, found.get("")) if form in treated else None for form in GROWTH_FORMS)


def _by_form(rows: tuple[RateRow | None, ...], name: str, missing: float) -> FloatArray:
    values = np.array([missing if row is None else getattr(row, name) for row in rows], dtype=np.float64)
    values.setflags(write=False)
    return values


def _bands(rows: list[RateRow], method: str, step: str) -> tuple[Bands, ...]:
    """The bands that hold for a step: of each driver the rows that name it most closely."""
    found = []
    for driver in dict.fromkeys(row.driver for row in rows):
        for scope in ((method, step), ("", step), (method, ""), ("", "")):
            near = sorted(
                (row for row in rows if row.driver == driver and (row.method, row.step) == scope),
                key=lambda row: row.from_value,
            )
            if near:
                found.append(
                    Bands(
                        driver,
                        tuple(row.from_value for row in near),
                        tuple(row.value for row in near),
                        tuple(row.source for row in near),
                    )
                )
                break
    return tuple(found)


def _step(rows: list[RateRow], factors: list[RateRow], treated: tuple[str, ...]) -> Step:
    first = rows[0]
    for row in rows:
        if (row.driver, row.skill) != (first.driver, first.skill):
            raise InvalidRate(f"step {row.step!r} must have one driver and one skill", "driver", row.number)
    by_form = _form_rows(rows, treated if first.driver in COMPONENT_DRIVERS else GROWTH_FORMS)
    return Step(
        method=first.method,
        name=first.step,
        driver=first.driver,
        skill=first.skill,
        hours_per_unit=_by_form(by_form, "hours_per_unit", np.nan),
        cover_exponent=_by_form(by_form, "cover_exponent", 0.0),
        shared_spread=_by_form(by_form, "shared_spread", 0.0),
        own_spread=_by_form(by_form, "own_spread", 0.0),
        rows=by_form,
        factors=_bands(factors, first.method, first.step),
    )


@dataclass(frozen=True)
class RateBook:
    """One version of the rate book, made of its rows; `steps` and the figures are derived from them."""

    rows: tuple[RateRow, ...]

    def _of_kind(self, kind: str) -> list[RateRow]:
        return [row for row in self.rows if row.kind == kind]

    @cached_property
    def steps(self) -> Mapping[str, tuple[Step, ...]]:
        """Steps of each method, in the order of the book."""
        grouped: dict[str, dict[str, list[RateRow]]] = {}
        for row in self._of_kind("rate"):
            grouped.setdefault(row.method, {}).setdefault(row.step, []).append(row)
        factors = self._of_kind("factor")
        found: dict[str, tuple[Step, ...]] = {}
        for method, by_step in grouped.items():
            treated = _treated_forms(row for rows in by_step.values() for row in rows)
            found[method] = tuple(_step(rows, factors, treated) for rows in by_step.values())
        return found

    def method_steps(self, method: str) -> tuple[Step, ...]:
        """Steps of a method; `InvalidRate` where the book has none."""
        if method not in self.steps:
            raise InvalidRate(f"the rate book has no rates for method {method!r}", "method")
        return self.steps[method]

    def treats(self, method: str) -> BoolArray:
        """Which growth forms a method treats by this book: those its rates name, else all (monitoring)."""
        rows = (row for row in self._of_kind("rate") if row.method == method)
        self.method_steps(method)
        treated = _treated_forms(rows)
        return np.array([form in treated for form in GROWTH_FORMS])

    @cached_property
    def _named(self) -> Mapping[tuple[str, str, str, str], RateRow]:
        return {
            (row.kind, row.step, row.method, row.growth_form): row
            for row in self.rows
            if row.kind in ("allowance", "spread")
        }

    def find(self, kind: str, name: str, method: str = "", growth_form: str = "") -> RateRow | None:
        """The row of a named figure, the closest scope first."""
        for scope in ((method, growth_form), (method, ""), ("", growth_form), ("", "")):
            row = self._named.get((kind, name, *scope))
            if row is not None:
                return row
        return None

    def allowance(self, name: str, method: str = "", growth_form: str = "", missing: float | None = None) -> float:
        """A named figure of the program; `InvalidRate` where the book lacks it and nothing stands in."""
        row = self.find("allowance", name, method, growth_form)
        if row is not None:
            return row.value
        if missing is None:
            raise InvalidRate(f"the rate book lacks the allowance {name!r}", "step")
        return missing

    def form_allowance(self, name: str, method: str = "", missing: float | None = None) -> FloatArray:
        """A named figure for each growth form."""
        return np.array([self.allowance(name, method, form, missing) for form in GROWTH_FORMS])

    def spread(self, name: str) -> float:
        """Log standard deviation of something the survey says."""
        row = self.find("spread", name)
        if row is None:
            raise InvalidRate(f"the rate book lacks the spread {name!r}", "step")
        return row.value

    def crew_day(self, people: Mapping[str, int], **changed: Any) -> CrewDay:
        """The crew's day by this book's allowances; `changed` replaces single figures.

        An allowance `pace_` + role (as `pace_volunteer`) is the pace of the people of that role.
        """
        figures: dict[str, Any] = {name: self.allowance(name) for name in (*DAY_MINUTES, "shift_hours")}
        paces = {role: self.find("allowance", f"pace_{role.replace(' ', '_')}") for role in people}
        figures["pace"] = {role: row.value for role, row in paces.items() if row is not None}
        row = self.find("allowance", "personal_and_fatigue")
        if row is not None:
            if row.unit not in ALLOWANCE_BASIS_UNITS:
                raise InvalidRate(f"must be one of {', '.join(ALLOWANCE_BASIS_UNITS)}", "unit", row.number)
            figures |= {"allowance": row.value, "allowance_basis": ALLOWANCE_BASIS_UNITS[row.unit]}
        return CrewDay(people=people, **(figures | changed))


def rate_book_from_rows(rows: Iterable[Mapping[str, str]]) -> RateBook:
    """A rate book from rows of text, such as those of a CSV file; errors name the row (from 1) and the column."""
    book = RateBook(tuple(rate_row(row, number) for number, row in enumerate(rows, start=1)))
    seen: set[tuple[str, ...]] = set()
    for row in book.rows:
        key = (row.kind, row.method, row.step, row.growth_form, row.driver, str(row.from_value))
        if key in seen:
            raise InvalidRate("stands in the book twice", "step", row.number)
        seen.add(key)
    if not book.steps:
        raise InvalidRate("the rate book has no rates", "kind")
    return book
