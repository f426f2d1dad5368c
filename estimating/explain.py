"""Jobs of an estimate opened into everything that made it, as plain nested values that a page can show.

A job is computed again from the inputs kept with the result, by the same formulas, so that the parts add up to the
figure shown. The dict's `version` rises when a key changes its meaning:

    1   hours by step, crew day, materials, money by category
    2   standard hours by step and the pace that makes field hours of them; the range and what drives it; money by line
"""

from collections.abc import Iterable
from typing import Any

import numpy as np

from estimating.bill import lines_of_jobs
from estimating.columns import IntArray
from estimating.crewday import day_work_minutes, heat_share, walk_in_hours
from estimating.drivers import order_drivers, reasons
from estimating.estimate import EstimateResult, estimate
from estimating.explain_steps import steps_of_jobs
from estimating.materials import Mix, mix_card
from estimating.money import NO_CONTINGENCY
from estimating.notes import NOTE_TEXT
from estimating.opened import OpenedJobs, listed, many_values, open_jobs, records
from estimating.pace import Pace, crew_limits
from estimating.quantities import quantities_of_jobs
from estimating.units import METRES_PER_MILE, MINUTES_PER_HOUR

VERSION = 2

Plain = dict[str, Any]


def _pace(opened: OpenedJobs, pace: Pace) -> list[Plain]:
    rows, day = opened.rows, opened.result.inputs.crew_day
    limits = crew_limits(opened.ground.book, opened.method)
    found = records(
        len(opened),
        standard_person_hours=pace.standard_person_hours[rows],
        crew_size=day.size,
        crew_sent=pace.crew_sent[rows],
        crew_least=limits.least,
        crew_most=limits.most,
        effective_people=pace.effective_people[rows],
        elbow_room_m2=limits.elbow_room_m2,
        worked_area_m2=pace.worked_area_m2[rows],
        crowding=pace.crowding[rows],
        heat_share=heat_share(day),
        pace=pace.pace,
        stretch=pace.stretch[rows],
        field_person_hours=opened.time.field_person_hours,
    )
    for shown in found:
        shown["pace_by_role"] = {role: day.pace.get(role, 1.0) for role in day.people}
    return found


def _crew_day(opened: OpenedJobs) -> list[Plain]:
    day, patches, time = opened.result.inputs.crew_day, opened.ground.patches, opened.time
    found = records(
        len(opened),
        shift_hours=day.shift_hours,
        drive_hours=2 * patches.drive_minutes / MINUTES_PER_HOUR if day.drive_paid else 0.0,
        walk_in_hours=walk_in_hours(patches),
        briefing_hours=day.briefing_minutes / MINUTES_PER_HOUR,
        setup_hours=day.setup_minutes / MINUTES_PER_HOUR,
        cleanup_hours=day.cleanup_minutes / MINUTES_PER_HOUR,
        break_hours=day.break_minutes / MINUTES_PER_HOUR,
        air_temperature_f=day.air_temperature_f,
        work_minutes_per_hour=day_work_minutes(day),
        productive_hours=time.productive_hours_a_day,
        allowance=day.allowance,
        crew_size=day.size,
        crew_sent=time.people,
        new_workers=day.new_workers,
        returning_workers=day.returning_workers,
        day_in_heat=day.day_in_heat,
        field_person_hours=time.field_person_hours,
        paid_person_hours=time.paid_person_hours,
        crew_hours=time.crew_hours,
        crew_days=time.crew_days,
        round_trip_miles=2000 * patches.drive_km / METRES_PER_MILE,
    )
    for shown in found:
        shown |= {"allowance_basis": day.allowance_basis, "people": dict(day.people), "workload": day.workload}
    return found


def _hours(opened: OpenedJobs) -> list[Plain]:
    result, rows = opened.result, opened.rows
    return records(
        len(opened),
        low=result.hours.low[rows],
        likely=result.hours.likely[rows],
        high=result.hours.high[rows],
        mean=result.hours.mean[rows],
        shared_log_sd=result.shared_log_sd[rows],
        own_log_sd=result.own_log_sd[rows],
        survey_log_sd=result.survey_log_sd[rows],
    )


def _ranges(opened: OpenedJobs) -> list[Plain]:
    hours, rows, found = opened.result.hours, opened.rows, order_drivers(opened)
    return records(
        len(opened),
        low_hours=hours.low[rows],
        likely_hours=hours.likely[rows],
        high_hours=hours.high[rows],
        mean_hours=hours.mean[rows],
        drivers=[[dict(vars(driver)) for driver in drivers] for drivers in found],
        reasons=[list(reasons(drivers)) for drivers in found],
    )


def _mix_card(mix: Mix, volume_l: float) -> Plain:
    card = mix_card(mix, volume_l)
    return {
        "mix": card.mix,
        "tank_l": card.tank_l,
        "full_loads": card.loads.full,
        "last_load_l": card.loads.last_l,
        "carrier_full_ml": card.carrier_full_ml,
        "carrier_last_ml": card.carrier_last_ml,
        "carrier": card.carrier,
        "lines": [dict(vars(line)) for line in card.lines],
        "steps": list(card.steps),
        "cautions": list(card.cautions),
    }


def _materials(opened: OpenedJobs) -> list[Plain]:
    used, mixes = opened.materials, opened.result.inputs.mixes
    products = [(code, listed(litres)) for code, litres in used.product_l.items()]
    found = records(
        len(opened),
        treated_area_m2=used.treated_area_m2,
        spray_volume_l=used.spray_volume_l,
        tank_loads=used.tank_loads,
        debris_m3=used.debris_m3,
        bags=used.bags,
        fuel_l=used.fuel_l,
        blades=used.blades,
        product_l=[{code: litres[job] for code, litres in products if litres[job]} for job in range(len(opened))],
    )
    for shown, mix, volume_l in zip(found, opened.mix_index, used.spray_volume_l.tolist(), strict=True):
        if mix >= 0:
            shown["mix_card"] = _mix_card(mixes[mix], volume_l)
    return found


def _lines(opened: OpenedJobs, pace: Pace) -> list[list[Plain]]:
    """Lines of the money; none where the job has no figures."""
    inputs, stretch = opened.result.inputs, pace.stretch[opened.rows]
    by_job = lines_of_jobs(
        prices=inputs.prices,
        crew_day=inputs.crew_day,
        method=opened.method,
        time=opened.time,
        skill_hours={skill: hours * stretch for skill, hours in opened.effort.skill_hours.items()},
        materials=opened.materials,
        round_trip_km=2 * opened.ground.patches.drive_km,
    )
    return [lines if ok else [] for lines, ok in zip(by_job, opened.ok, strict=True)]


def _contracts(opened: OpenedJobs, pace: Pace) -> list[Plain | None]:
    """How the contractor's price comes about; None where no price is known."""
    prices, method = opened.result.inputs.prices, opened.method
    if method not in prices.contract_e4_per_ha:
        return [None] * len(opened)
    return [
        {
            "treated_area_m2": round(area_m2),
            "price_e4_per_ha": prices.contract_e4_per_ha[method],
            "minimum_e4": prices.contract_minimum_e4.get(method, 0),
        }
        if ok
        else None
        for area_m2, ok in zip(pace.worked_area_m2[opened.rows].tolist(), opened.ok, strict=True)
    ]


def _money(opened: OpenedJobs, pace: Pace) -> list[Plain]:
    return records(
        len(opened),
        lines=_lines(opened, pace),
        contingency_level=opened.ground.book.allowance("contingency_level", missing=NO_CONTINGENCY),
        contract=_contracts(opened, pace),
        **{name: values[opened.rows] for name, values in vars(opened.result.money).items()},
    )


def _notes(opened: OpenedJobs) -> list[list[str]]:
    noted = opened.result.notes[opened.rows].tolist()
    texts = {notes: [text for note, text in NOTE_TEXT.items() if notes & note] for notes in set(noted)}
    return [list(texts[notes]) for notes in noted]


def _explained(opened: OpenedJobs, pace: Pace) -> list[Plain]:
    """All sections of all jobs of one method."""
    ids = opened.result.jobs.ids
    return records(
        len(opened),
        version=VERSION,
        job=[ids[row] for row in opened.rows.tolist()],
        patch=list(opened.ground.patches.ids),
        method=[opened.method] * len(opened),
        ok=opened.ok,
        notes=_notes(opened),
        steps=steps_of_jobs(opened),
        pace=_pace(opened, pace),
        field_person_hours=_hours(opened),
        range=_ranges(opened),
        crew_day=_crew_day(opened),
        materials=_materials(opened),
        quantities=quantities_of_jobs(opened),
        money=_money(opened, pace),
    )


def explain_all(result: EstimateResult, jobs: Iterable[int] | IntArray) -> list[Plain]:
    """Every figure of some jobs and what made it, as nested plain values (JSON-able), in the order asked for.

    Nothing in one job's values is shared with another's. A result that was frozen before it kept its pace is computed
    again first. Errors: `IndexError` where there is no such job.
    """
    if result.pace is None:
        return explain_all(estimate(**vars(result.inputs)), jobs)
    asked = np.fromiter(jobs, np.int64)
    found: dict[int, Plain] = {}
    with many_values():
        for places, opened in open_jobs(result, asked):
            found.update(zip(places.tolist(), _explained(opened, result.pace), strict=True))
    return [found[place] for place in range(len(asked))]


def explain(result: EstimateResult, job: int) -> Plain:
    """One job alone; see `explain_all`, which is far quicker for many."""
    return explain_all(result, [job])[0]
