"""The standard hours of opened jobs: each step's parts, one a component or one for the whole job, with their factors.

hours of a part = rate x quantity x cover^b x factors
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from estimating.columns import FloatArray
from estimating.effort import StepTerms, component_terms, job_terms
from estimating.inputs import GROUND_KINDS, GROWTH_FORMS
from estimating.opened import OpenedJobs, listed
from estimating.rate_book import Bands, Step
from estimating.rate_rows import COMPONENT_FACTORS

QUANTITY_UNIT = {
    "infested_area_m2": "m2",
    "gross_area_m2": "m2",
    "stems_small": "stems",
    "stems_medium": "stems",
    "stems_large": "stems",
    "stem_diameter_cm": "cm",
    "upper_cuts": "stems",
    "spray_volume_l": "l",
    "debris_m3": "m3",
    "rooting_debris_m3": "m3",
    "visit": "visit",
    "tank_loads": "loads",
}

Plain = dict[str, Any]


def _reached(bands: Bands, measured: FloatArray) -> list[Plain | None]:
    """The factor of each measured value, with what it was measured at; None where it changes nothing."""
    found: list[Plain | None] = []
    for value, count in zip(listed(measured), bands.reached(measured).tolist(), strict=True):
        if not count or bands.values[count - 1] == 1:
            found.append(None)
            continue
        factor = {
            "measured": value,
            "multiplier": bands.values[count - 1],
            "factor": bands.driver,
            "source": bands.sources[count - 1],
        }
        if bands.driver == "ground":
            factor["measured_word"] = GROUND_KINDS[int(value)]
        found.append(factor)
    return found


@dataclass(frozen=True)
class _Factors:
    """The factors of the steps of opened jobs; steps with the same bands share the work."""

    opened: OpenedJobs
    _rows: dict[tuple[bool, tuple[Bands, ...]], list[list[Plain]]] = field(default_factory=dict)

    def of(self, factors: tuple[Bands, ...], *, by_component: bool) -> list[list[Plain]]:
        """The factors that change the hours, by pair or by job."""
        key = (by_component, factors)
        if key not in self._rows:
            columns = [_reached(bands, self._measured(bands.driver, by_component)) for bands in factors]
            count = len(self.opened.pairs.job) if by_component else len(self.opened)
            self._rows[key] = [
                [factor for column in columns if (factor := column[row]) is not None] for row in range(count)
            ]
        return self._rows[key]

    def _measured(self, driver: str, by_component: bool) -> FloatArray:
        ground = self.opened.ground
        if driver in COMPONENT_FACTORS:
            return ground.component_measured(driver)
        values = ground.measured(driver)
        return values[self.opened.pairs.job] if by_component else values


def _component_parts(opened: OpenedJobs, step: Step, terms: StepTerms, factors: _Factors) -> list[Plain | None]:
    """By pair the product of rate, quantity, cover and factors; None where the step does not treat the form."""
    facts = opened.ground.components
    forms = [_of_form(step, form) for form in range(len(GROWTH_FORMS))]
    columns = zip(
        facts.growth_form.tolist(),
        facts.ids,
        facts.species,
        listed(opened.ground.cover),
        listed(np.broadcast_to(terms.cover_term, terms.quantity.shape)),
        listed(terms.quantity),
        listed(terms.hours),
        factors.of(step.factors, by_component=True),
        strict=True,
    )
    found: list[Plain | None] = []
    for form, name, species, cover, cover_term, quantity, hours, changed in columns:
        known = forms[form]
        if known is None:
            found.append(None)
            continue
        found.append(
            {
                "component": name,
                "species": species,
                "growth_form": GROWTH_FORMS[form],
                "cover": cover,
                "cover_exponent": known["cover_exponent"],
                "cover_term": cover_term,
                "quantity": quantity,
                "rate": known["rate"],
                "hours_per_unit": known["hours_per_unit"],
                "hours": hours,
                **known["named"],
                "factors": [dict(factor) for factor in changed],
            }
        )
    return found


def _of_form(step: Step, form: int) -> Plain | None:
    """What all parts of a step and a growth form share; None where the step does not treat the form."""
    row = step.rows[form]
    if row is None:
        return None
    return {
        "rate": row.value,
        "hours_per_unit": row.hours_per_unit,
        "cover_exponent": float(step.cover_exponent[form]),
        "named": {
            "unit": row.unit,
            "quantity_unit": QUANTITY_UNIT[step.driver],
            "source": row.source,
            "rate_row": row.number,
        },
    }


def _job_parts(opened: OpenedJobs, step: Step, terms: StepTerms, factors: _Factors) -> list[list[Plain]]:
    """By job its one part."""
    known = _of_form(step, 0)
    if known is None:
        return [[] for _ in range(len(opened))]
    changed = factors.of(step.patch_factors, by_component=False)
    return [
        [
            {
                "quantity": quantity,
                "rate": known["rate"],
                "hours_per_unit": known["hours_per_unit"],
                "hours": hours,
                **known["named"],
                "factors": [dict(factor) for factor in own],
            }
        ]
        for quantity, hours, own in zip(listed(terms.quantity), listed(terms.hours), changed, strict=True)
    ]


def _step_column(opened: OpenedJobs, step: Step, factors: _Factors) -> list[Plain]:
    """One step of each job."""
    if step.by_component:
        terms = component_terms(opened.ground, opened.pairs, step, opened.volumes)
        by_pair = _component_parts(opened, step, terms, factors)
        parts = [[part for part in by_pair[first:end] if part is not None] for first, end in opened.spans()]
        hours = listed(opened.pairs.by_job(terms.hours))
    else:
        terms = job_terms(opened.ground, opened.pairs, step, opened.volumes)
        parts, hours = _job_parts(opened, step, terms, factors), listed(terms.hours)
    return [
        {"step": step.name, "driver": step.driver, "skill": step.skill, "hours": whole, "parts": own}
        for whole, own in zip(hours, parts, strict=True)
    ]


def steps_of_jobs(opened: OpenedJobs) -> list[list[Plain]]:
    """The steps of each job, as plain values."""
    factors = _Factors(opened)
    columns: Sequence[list[Plain]] = [
        _step_column(opened, step, factors) for step in opened.ground.book.method_steps(opened.method)
    ]
    return [list(steps) for steps in zip(*columns, strict=True)]
