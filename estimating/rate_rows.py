"""Rows of a rate book as text and as checked values: one row a rate, factor, allowance or spread.

kind       what the other columns mean
rate       person-hours of one step of a method: `driver` is what the step goes by, `value` and `unit` the rate,
           `cover_exponent` the b of cover^b, `skill` who does it; without a growth form it holds for all forms
factor     multiplier on field hours from `from_value` of its driver on; blank method or step: all of them
allowance  a figure of the program (see RateBook.allowance); its name stands in `step`
spread     log standard deviation of what the survey says; its name stands in `step`
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from estimating.errors import InvalidRate
from estimating.inputs import GROWTH_FORMS

KINDS = ("rate", "factor", "allowance", "spread")

# Drivers by where their quantity lives: with each component, or with the job as a whole.
COMPONENT_DRIVERS = (
    "infested_area_m2",
    "stems_small",
    "stems_medium",
    "stems_large",
    "stem_diameter_cm",
    "upper_cuts",
    "spray_volume_l",
    "debris_m3",
    "rooting_debris_m3",
)
JOB_DRIVERS = ("gross_area_m2", "visit", "tank_loads")
PATCH_FACTORS = ("slope_deg", "ground", "wet_ground", "evergreen_natives", "repeat_year")
COMPONENT_FACTORS = ("height_m", "cut_height_m")

# Person-hours for one unit of the driver, and the drivers each unit goes with.
_AREA = ("infested_area_m2", "gross_area_m2")
UNIT_HOURS: Mapping[str, tuple[float, tuple[str, ...]]] = {
    "h/ha": (1e-4, _AREA),
    "min/m2": (1 / 60, _AREA),
    "min/stem": (1 / 60, ("stems_small", "stems_medium", "stems_large", "upper_cuts")),
    "min/cm": (1 / 60, ("stem_diameter_cm",)),
    "min/l": (1 / 60, ("spray_volume_l",)),
    "h/m3": (1.0, ("debris_m3", "rooting_debris_m3")),
    "min/visit": (1 / 60, ("visit",)),
    "min/load": (1 / 60, ("tank_loads",)),
}


@dataclass(frozen=True, kw_only=True)
class RateRow:
    """One checked row; `number` is its place in the book, from 1."""

    number: int
    kind: str
    method: str
    step: str
    growth_form: str
    driver: str
    from_value: float
    value: float
    unit: str
    cover_exponent: float
    skill: str
    shared_spread: float
    own_spread: float
    source: str

    @property
    def hours_per_unit(self) -> float:
        """Person-hours for one unit of the driver (rates only)."""
        return self.value * UNIT_HOURS[self.unit][0]


def _number(row: Mapping[str, str], name: str, number: int, missing: float) -> float:
    text = (row.get(name) or "").strip()
    if not text:
        return missing
    try:
        value = float(text)
    except ValueError as error:
        raise InvalidRate(f"{text!r} is no number", name, number) from error
    if not math.isfinite(value) or value < 0:
        raise InvalidRate(f"{text!r} must be a finite number, 0 or more", name, number)
    return value


def _read(row: Mapping[str, str], number: int) -> RateRow:
    def text(name: str) -> str:
        return (row.get(name) or "").strip()

    return RateRow(
        number=number,
        kind=text("kind"),
        method=text("method"),
        step=text("step"),
        growth_form=text("growth_form"),
        driver=text("driver"),
        from_value=_number(row, "from_value", number, 0.0),
        value=_number(row, "value", number, math.nan),
        unit=text("unit"),
        cover_exponent=_number(row, "cover_exponent", number, 0.0),
        skill=text("skill"),
        shared_spread=_number(row, "shared_spread", number, 0.0),
        own_spread=_number(row, "own_spread", number, 0.0),
        source=text("source"),
    )


def _check_common(row: RateRow) -> None:
    if row.kind not in KINDS:
        raise InvalidRate(f"{row.kind!r} is none of {', '.join(KINDS)}", "kind", row.number)
    if math.isnan(row.value):
        raise InvalidRate("is missing", "value", row.number)
    if not row.source:
        raise InvalidRate("is missing: say where the figure comes from, be it from memory", "source", row.number)
    if row.growth_form and row.growth_form not in GROWTH_FORMS:
        raise InvalidRate(f"{row.growth_form!r} is no growth form", "growth_form", row.number)


def _check_rate(row: RateRow) -> None:
    for name in ("method", "step", "skill"):
        if not getattr(row, name):
            raise InvalidRate("is missing", name, row.number)
    if row.driver not in COMPONENT_DRIVERS + JOB_DRIVERS:
        raise InvalidRate(f"{row.driver!r} is no driver of a rate", "driver", row.number)
    if row.unit not in UNIT_HOURS or row.driver not in UNIT_HOURS[row.unit][1]:
        raise InvalidRate(f"{row.unit!r} does not go with driver {row.driver!r}", "unit", row.number)
    if row.driver in JOB_DRIVERS and (row.growth_form or row.cover_exponent):
        raise InvalidRate("goes with the whole job, so it has no growth form and no cover", "driver", row.number)
    if row.cover_exponent > 1:
        raise InvalidRate("must be from 0 to 1", "cover_exponent", row.number)
    if max(row.shared_spread, row.own_spread) > 2:
        raise InvalidRate("is a log standard deviation, at most 2", "shared_spread", row.number)


def _check_factor(row: RateRow) -> None:
    if row.driver not in PATCH_FACTORS + COMPONENT_FACTORS:
        raise InvalidRate(f"{row.driver!r} is no driver of a factor", "driver", row.number)
    if row.value == 0:
        raise InvalidRate("must be above 0: a factor of 0 would make work vanish", "value", row.number)


def _check_named(row: RateRow) -> None:
    if not row.step:
        raise InvalidRate("names the figure and is missing", "step", row.number)


CHECKS = {"rate": _check_rate, "factor": _check_factor, "allowance": _check_named, "spread": _check_named}


def rate_row(row: Mapping[str, str], number: int) -> RateRow:
    """One row of text as checked values; `InvalidRate` names the column and the row's number."""
    read = _read(row, number)
    _check_common(read)
    CHECKS[read.kind](read)
    return read
