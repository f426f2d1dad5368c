"""The rows of an order's work: what is to be done on each patch, step by step, and how long it should take."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from estimating.spread import season_fit
from orders.carried.mixes import MixOf
from orders.carried.sites import species_names
from orders.estimates.models import Estimate
from orders.planning.models import Prescription, VisitShare
from orders.sites.models import Survey

# Common practice: from here on a fall sets things rolling, and nobody works below another.
STEEP_FROM_DEG = 20.0
NEAR_WATER_M = 30.0  # our own: from here on the crew is told of it
# Months in which a day may be hot or cold where the program works: our own, wide.
HOT_MONTHS, COLD_MONTHS = range(4, 11), (10, 11, 12, 1, 2, 3, 4)


@dataclass(frozen=True)
class Part:
    """A share of one estimate, as a visit or an order serves it."""

    estimate: Estimate
    fraction: float

    @classmethod
    def of(cls, share: VisitShare) -> "Part":
        return cls(share.prescription.estimate, share.share * share.prescription.share_left)


def paid_hours(parts: Sequence[Part]) -> dict[str, float]:
    """Paid person-hours of them together, with the range of their sum; methods share the error of their rates."""
    if not parts:
        return {"low": 0.0, "likely": 0.0, "high": 0.0}
    methods = {part.estimate.method_id: number for number, part in enumerate(parts)}
    fit = season_fit(
        np.array([part.estimate.paid_person_hours * part.fraction for part in parts]),
        np.array([part.estimate.own_log_sd for part in parts]),
        np.array([part.estimate.shared_log_sd for part in parts]),
        np.array([methods[part.estimate.method_id] for part in parts]),
    )
    return {name: round(float(getattr(fit, name)), 2) for name in ("low", "likely", "high")}


def work_row(asked: Prescription, fraction: float, mix: MixOf | None) -> dict[str, Any]:
    """`fraction` of the prescription's estimate that the order serves."""
    estimate, method = asked.estimate, asked.method
    return {
        "prescription": str(asked.public_id),
        "patch": str(asked.patch.public_id),
        "patch_code": asked.patch.code,
        "patch_name": asked.patch.name,
        "method": {
            "code": method.code,
            "name": method.name,
            "uses_herbicide": method.uses_herbicide,
            "qualification": method.qualification.code if method.qualification else None,
        },
        "purpose": asked.purpose,
        "why": asked.why,
        "share": fraction,
        "steps": _steps(estimate, fraction),
        "mix": mix.code if mix else None,
        "seed_due_on": asked.seed_due_on.isoformat() if asked.seed_due_on else None,
        "target_cover": asked.patch.target_cover,
        "control_state": asked.patch.control_state,
        **_ground(estimate.survey),
    }


def _ground(survey: Survey) -> dict[str, Any]:
    components = list(survey.components.all())
    infested_m2 = sum(component.infested_area_m2 for component in components)
    return {
        "species": species_names(survey),
        "growth_forms": list(dict.fromkeys(component.growth_form.code for component in components)),
        "geometry": survey.geometry,
        "infested_area_m2": min(infested_m2, survey.gross_area_m2),
        "gross_area_m2": survey.gross_area_m2,
        "slope_deg": survey.slope_deg,
        "stems": _stems(survey),
    }


def _stems(survey: Survey) -> int | None:
    counted = [
        count
        for component in survey.components.all()
        for count in (component.stems_small, component.stems_medium, component.stems_large)
        if count is not None
    ]
    return sum(counted) if counted else None


def _steps(estimate: Estimate, fraction: float) -> list[dict[str, Any]]:
    """Field person-hours by step: the standard hours of each, at the pace of the whole."""
    steps = [step for step in estimate.result.get("steps", []) if step["hours"]]
    standard = sum(step["hours"] for step in steps)
    pace = estimate.person_hours * fraction / standard if standard else 0.0
    return [
        {"code": step["step"], "name": step["step"].capitalize(), "hours": round(step["hours"] * pace, 2)}
        for step in steps
    ]


def needs_saws(estimate: Estimate) -> bool:
    return any(step.get("skill") == "sawyer" for step in estimate.result.get("steps", []))


def hazards(parts: Sequence[Part], months: set[int]) -> list[str]:
    """Codes of what a briefing speaks of, by method, ground and season; the crew adds what it sees."""
    surveys = [part.estimate.survey for part in parts]
    asked = {
        "heat": bool(months & set(HOT_MONTHS)),
        "cold": bool(months & set(COLD_MONTHS)),
        "saws": any(needs_saws(part.estimate) for part in parts),
        "herbicide": any(part.estimate.method.uses_herbicide for part in parts),
        "slope": any((survey.slope_deg or 0.0) >= STEEP_FROM_DEG for survey in surveys),
        "vines": any(_has_vines(survey) for survey in surveys),
        "water": any(_is_near_water(survey) for survey in surveys),
        "ticks": True,
        "poison-ivy": True,
    }
    return [code for code, holds in asked.items() if holds]


def _has_vines(survey: Survey) -> bool:
    return any(component.growth_form.code == "climbing" for component in survey.components.all())


def _is_near_water(survey: Survey) -> bool:
    near = survey.distance_to_water_m is not None and survey.distance_to_water_m < NEAR_WATER_M
    return near or survey.wet_ground == "yes"
