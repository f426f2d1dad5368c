"""One job of an estimate opened into everything that made it, as plain nested values that a page can show.

The job is computed again from the inputs kept with the result, by the same formulas, so that the parts add up to the
figure shown.
"""

import math
from typing import Any

import numpy as np

from estimating.columns import FloatArray
from estimating.crewday import walk_in_hours
from estimating.effort import (
    PairSet,
    StepTerms,
    Volumes,
    component_terms,
    job_terms,
    outing_leads,
    spray_volumes,
)
from estimating.estimate import EstimateResult, mix_figures
from estimating.ground import Ground
from estimating.inputs import GROWTH_FORMS
from estimating.materials import mix_card
from estimating.rate_book import Bands, Step
from estimating.units import MINUTES_PER_HOUR

QUANTITY_UNIT = {
    "infested_area_m2": "m2",
    "gross_area_m2": "m2",
    "stems_small": "stems",
    "stems_medium": "stems",
    "stems_large": "stems",
    "spray_volume_l": "l",
    "debris_m3": "m3",
    "visit": "visit",
    "tank_loads": "loads",
}


def plain(value: Any) -> Any:
    """A number as JSON knows it: a missing number becomes None."""
    number = value.item() if isinstance(value, np.generic | np.ndarray) else value
    return None if isinstance(number, float) and not math.isfinite(number) else number


def figures(**values: Any) -> dict[str, Any]:
    """Named plain numbers."""
    return {name: plain(value) for name, value in values.items()}


def _one_job(result: EstimateResult, job: int) -> tuple[Ground, PairSet]:
    """The job alone: its patch, its components and its place in its outing."""
    inputs = result.inputs
    patch = inputs.jobs.patch_index[job : job + 1]
    rows = inputs.jobs.pair_component[inputs.jobs.pair_job == job]
    zeros = np.zeros(len(rows), np.int64)
    components = inputs.components.take(
        rows, patch_index=zeros, species=tuple(inputs.components.species[row] for row in rows)
    )
    ground = Ground(inputs.patches.take(patch), components, inputs.rate_book)
    method = inputs.jobs.methods[int(inputs.jobs.method_index[job])]
    leads = outing_leads(inputs.jobs)[job : job + 1]
    return ground, PairSet(method, np.zeros(1, np.int64), np.zeros(1, np.int64), leads, zeros, None)


def _factors(ground: Ground, factors: tuple[Bands, ...], component: int) -> list[dict[str, Any]]:
    """Each factor that changes the hours, with what it was measured at."""
    found = []
    for bands in factors:
        own = bands.driver == "height_m"
        values = ground.components.height_m if own else ground.measured(bands.driver)
        measured: FloatArray = values[component : component + 1] if own else values[:1]
        reached = int(bands.reached(measured)[0])
        if reached and bands.values[reached - 1] != 1:
            found.append(
                figures(measured=measured[0], multiplier=bands.values[reached - 1])
                | {"factor": bands.driver, "source": bands.sources[reached - 1]}
            )
    return found


def _part(ground: Ground, step: Step, terms: StepTerms, index: int) -> dict[str, Any] | None:
    """One component's (or the whole job's) product of rate, quantity, cover and factors."""
    form = int(ground.components.growth_form[index]) if step.by_component else 0
    row = step.rows[form]
    if row is None:
        return None
    component: dict[str, Any] = {}
    if step.by_component:
        component = {
            "component": ground.components.ids[index],
            "species": ground.components.species[index],
            "growth_form": GROWTH_FORMS[form],
        } | figures(
            cover=ground.cover[index],
            cover_exponent=step.cover_exponent[form],
            cover_term=np.broadcast_to(terms.cover_term, terms.quantity.shape)[index],
        )
    amounts = figures(quantity=terms.quantity[index], rate=row.value, hours=terms.hours[index])
    named = {
        "unit": row.unit,
        "quantity_unit": QUANTITY_UNIT[step.driver],
        "source": row.source,
        "rate_row": row.number,
    }
    return component | amounts | named | {"factors": _factors(ground, step.factors, index)}


def _steps(ground: Ground, pairs: PairSet, volumes: Volumes) -> list[dict[str, Any]]:
    opened = []
    for step in ground.book.method_steps(pairs.method):
        terms = (component_terms if step.by_component else job_terms)(ground, pairs, step, volumes)
        parts = [_part(ground, step, terms, index) for index in range(len(terms.quantity))]
        opened.append(
            {
                "step": step.name,
                "driver": step.driver,
                "skill": step.skill,
                "hours": plain(terms.hours.sum()),
                "parts": [part for part in parts if part is not None],
            }
        )
    return opened


def _crew_day(result: EstimateResult, ground: Ground, job: int) -> dict[str, Any]:
    day, patches, time = result.inputs.crew_day, ground.patches, result.time
    return figures(
        shift_hours=day.shift_hours,
        drive_hours=2 * patches.drive_minutes[0] / MINUTES_PER_HOUR if day.drive_paid else 0.0,
        walk_in_hours=walk_in_hours(patches)[0],
        briefing_hours=day.briefing_minutes / MINUTES_PER_HOUR,
        setup_hours=day.setup_minutes / MINUTES_PER_HOUR,
        cleanup_hours=day.cleanup_minutes / MINUTES_PER_HOUR,
        break_hours=day.break_minutes / MINUTES_PER_HOUR,
        work_minutes_per_hour=day.work_minutes_per_hour,
        productive_hours=time.productive_hours_a_day[job],
        allowance=day.allowance,
        crew_size=day.size,
        paid_person_hours=time.paid_person_hours[job],
        crew_hours=time.crew_hours[job],
        crew_days=time.crew_days[job],
    ) | {"allowance_basis": day.allowance_basis, "people": dict(day.people)}


def _hours(result: EstimateResult, job: int) -> dict[str, Any]:
    return figures(
        low=result.hours.low[job],
        likely=result.hours.likely[job],
        high=result.hours.high[job],
        mean=result.hours.mean[job],
        shared_log_sd=result.shared_log_sd[job],
        own_log_sd=result.own_log_sd[job],
        survey_log_sd=result.survey_log_sd[job],
    )


def _materials(result: EstimateResult, job: int) -> dict[str, Any]:
    found = result.materials
    opened = figures(
        treated_area_m2=found.treated_area_m2[job],
        spray_volume_l=found.spray_volume_l[job],
        tank_loads=found.tank_loads[job],
        debris_m3=found.debris_m3[job],
        bags=found.bags[job],
    )
    opened["product_l"] = {code: plain(amounts[job]) for code, amounts in found.product_l.items() if amounts[job]}
    mix = int(result.jobs.mix[job])
    if mix >= 0:
        card = mix_card(result.inputs.mixes[mix], float(found.spray_volume_l[job]))
        opened["mix_card"] = {
            "mix": card.mix,
            "tank_l": card.tank_l,
            "full_loads": card.loads.full,
            "last_load_l": card.loads.last_l,
            "carrier_full_ml": card.carrier_full_ml,
            "carrier_last_ml": card.carrier_last_ml,
            "lines": [vars(line) for line in card.lines],
        }
    return opened


def _money(result: EstimateResult, job: int) -> dict[str, Any]:
    money = result.money
    return {
        name: int(getattr(money, name)[job])
        for name in (
            "labor_cents",
            "material_cents",
            "mileage_cents",
            "equipment_cents",
            "total_cents",
            "low_cents",
            "high_cents",
            "mean_cents",
        )
    }


def explain(result: EstimateResult, job: int) -> dict[str, Any]:
    """Every figure of a job and what made it, as nested plain values (JSON-able)."""
    ground, pairs = _one_job(result, job)
    rows = np.array([job])
    inputs = result.inputs
    mix = mix_figures(inputs.jobs, rows, pairs.method, inputs.mixes, inputs.rate_book)
    volumes = spray_volumes(ground, pairs, mix, inputs.rate_book.treats(pairs.method))
    return {
        "job": inputs.jobs.ids[job],
        "patch": ground.patches.ids[0],
        "method": pairs.method,
        "ok": bool(result.ok[job]),
        "notes": list(result.note_texts(job)),
        "steps": _steps(ground, pairs, volumes),
        "field_person_hours": _hours(result, job),
        "crew_day": _crew_day(result, ground, job),
        "materials": _materials(result, job),
        "money": _money(result, job),
    }
