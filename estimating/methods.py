"""The table of methods: what each one needs and does. It is data, so that a program can add its own."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from estimating.columns import BoolArray
from estimating.errors import InvalidFact, UnknownCode
from estimating.inputs import GROWTH_FORMS

SEASON_RULES = ("any time", "ground not frozen", "dormant season", "growing season", "bark dry", "ground firm")
SIZES = ("any", "small", "large")


@dataclass(frozen=True, kw_only=True)
class Method:
    """One method of work.

    `growth_forms` it can treat; `treats_stems`: it works stem by stem; `removes_fruit`: fruit is gone from the plant
    when it is done; `kills_roots`: cut plants do not simply come back; `season_rule` one of SEASON_RULES;
    `smallest_use` "small": only for small patches, "large": only for large ones.
    """

    code: str
    name: str
    growth_forms: frozenset[str]
    uses_herbicide: bool
    needs_license: bool
    treats_stems: bool
    removes_fruit: bool
    kills_roots: bool
    season_rule: str
    lowest_temp_c: float
    highest_slope_deg: float
    wet_ground_allowed: bool
    smallest_use: str
    needs_follow_up_days: int
    summary: str
    source: str

    def treats(self) -> BoolArray:
        """Which growth forms it treats, in the order of GROWTH_FORMS."""
        return np.array([form in self.growth_forms for form in GROWTH_FORMS])


@dataclass(frozen=True)
class MethodTable:
    """All methods in a fixed order; arrays over methods follow it."""

    methods: tuple[Method, ...]

    @property
    def codes(self) -> tuple[str, ...]:
        """Codes in order."""
        return tuple(method.code for method in self.methods)

    def __len__(self) -> int:
        return len(self.methods)

    def __getitem__(self, code: str) -> Method:
        for method in self.methods:
            if method.code == code:
                return method
        raise UnknownCode(f"no method {code!r}", "method")


def _yes(row: Mapping[str, str], name: str, number: int) -> bool:
    value = row[name].strip().lower()
    if value not in ("yes", "no"):
        raise InvalidFact(f"must be yes or no, not {value!r}", name, number)
    return value == "yes"


def _number(row: Mapping[str, str], name: str, number: int) -> float:
    try:
        return float(row[name])
    except ValueError as error:
        raise InvalidFact(f"{row[name]!r} is no number", name, number) from error


def _one_of(row: Mapping[str, str], name: str, known: tuple[str, ...], number: int) -> str:
    if row[name] not in known:
        raise UnknownCode(f"{row[name]!r} is none of {', '.join(known)}", name, number)
    return row[name]


def _method(row: Mapping[str, str], number: int) -> Method:
    forms = frozenset(form.strip() for form in row["growth_forms"].split("|"))
    if not forms <= set(GROWTH_FORMS):
        raise UnknownCode(f"unknown growth form in {row['growth_forms']!r}", "growth_forms", number)
    flags: dict[str, Any] = {
        name: _yes(row, name, number)
        for name in (
            "uses_herbicide",
            "needs_license",
            "treats_stems",
            "removes_fruit",
            "kills_roots",
            "wet_ground_allowed",
        )
    }
    return Method(
        code=row["code"].strip(),
        name=row["name"].strip(),
        growth_forms=forms,
        season_rule=_one_of(row, "season_rule", SEASON_RULES, number),
        lowest_temp_c=_number(row, "lowest_temp_c", number),
        highest_slope_deg=_number(row, "highest_slope_deg", number),
        smallest_use=_one_of(row, "smallest_use", SIZES, number),
        needs_follow_up_days=int(_number(row, "needs_follow_up_days", number)),
        summary=row["summary"].strip(),
        source=row["source"].strip(),
        **flags,
    )


def methods_from_rows(rows: Iterable[Mapping[str, str]]) -> MethodTable:
    """The table from rows of text, such as those of a CSV file; errors name the row (from 1) and the column."""
    methods: list[Method] = []
    for number, row in enumerate(rows, start=1):
        method = _method(row, number)
        if any(known.code == method.code for known in methods):
            raise InvalidFact(f"{method.code!r} stands there twice", "code", number)
        methods.append(method)
    return MethodTable(tuple(methods))
