"""Money of jobs from their hours, distances and amounts, exact until each category's one rounding to the cent.

Field hours cost the standard rate of the role that has the step's skill; the rest of the paid day (drive, walk-in,
briefing, set-up, breaks, allowance) costs the crew's average rate by its make-up. Totals are sums of rounded
categories, so that a job's total equals the sum of its parts. `bill.py` shows the same as lines.

    point of the range at chance p = by hours x e^(z s) + by survey x e^(z s_survey),   z = normal quantile of p

Labor, mileage, equipment, fuel and blades move with the hours (log standard deviation s), products and bags with what
the survey may have wrong (s_survey); both are taken to be low, or high, together.

    contingency = point of the range at the book's level - likely total, 0 or more
    contract    = the larger of the contractor's minimum and treated hectares x price; -1 where no price is known
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from statistics import NormalDist

import numpy as np

from estimating.amounts import Materials
from estimating.columns import FloatArray, IntArray
from estimating.crewday import PaidTime
from estimating.inputs import CrewDay, Jobs, Prices
from estimating.pricing import (
    E4_PER_CENT,
    MICROLITRES_PER_LITRE,
    PARTS_PER_BLADE,
    PARTS_PER_MILE,
    float_cents,
    ratio_cents,
)
from estimating.spread import HIGH_Z
from estimating.units import METRES_PER_MILE, SECONDS_PER_HOUR, SQUARE_METRES_PER_HECTARE

# A level at which the range's point is the likely value itself: nothing is set aside.
NO_CONTINGENCY = 0.5
NO_CONTRACT = -1


def _nothing() -> IntArray:
    return np.zeros(0, np.int64)


@dataclass(frozen=True)
class Money:
    """Whole cents by job. `low`, `high` and `mean` are of the total; `total` is its likely value, part by part.

    `contingency` is what the book's level asks for on top of the total; `contract` what a contractor would ask for
    instead (-1: no price known).
    """

    labor_cents: IntArray
    material_cents: IntArray
    mileage_cents: IntArray
    equipment_cents: IntArray
    total_cents: IntArray
    low_cents: IntArray
    high_cents: IntArray
    mean_cents: IntArray
    contingency_cents: IntArray = field(default_factory=_nothing)
    contract_cents: IntArray = field(default_factory=_nothing)


def whole(values: FloatArray, scale: float) -> IntArray:
    """Values as integers of a small unit; a missing value counts as 0."""
    # Not nan_to_num: looking for infinities, which do not occur, took a third of a large estimate's time.
    return np.rint(np.where(np.isnan(values), 0.0, values) * scale).astype(np.int64)


def labor_seconds(skill_hours: Mapping[str, FloatArray], time: PaidTime) -> tuple[dict[str, IntArray], IntArray]:
    """Field seconds by skill, and the other paid seconds of everybody sent."""
    usable = np.where(np.isnan(time.paid_person_hours), 0.0, float(SECONDS_PER_HOUR))
    by_skill = {skill: whole(hours * usable, 1) for skill, hours in skill_hours.items()}
    other = whole(time.paid_person_hours, SECONDS_PER_HOUR)
    for seconds in by_skill.values():
        other = other - seconds
    return by_skill, np.maximum(other, 0)


def crew_rate_e4(prices: Prices, crew_day: CrewDay) -> int:
    """Sum of the standard rates of all people of the crew; over its size it is the crew's average rate."""
    return sum(count * prices.role_rate_e4(role) for role, count in crew_day.people.items())


def labor_cents(prices: Prices, crew_day: CrewDay, skill_hours: Mapping[str, FloatArray], time: PaidTime) -> IntArray:
    """Field seconds x the skill's rate + other paid seconds x the crew's average rate, rounded once."""
    by_skill, other = labor_seconds(skill_hours, time)
    amount = other * crew_rate_e4(prices, crew_day)
    for skill, seconds in by_skill.items():
        amount += seconds * (prices.skill_rate_e4(skill) * crew_day.size)
    return ratio_cents(amount, crew_day.size * SECONDS_PER_HOUR * E4_PER_CENT)


def material_amounts(prices: Prices, materials: Materials, usable: FloatArray) -> tuple[IntArray, IntArray]:
    """Products and bags, and fuel and blades, in 1/10,000 dollar x microliters: the exact amounts before rounding."""
    bought = whole(materials.bags * usable, 1) * (prices.bag_e4 * MICROLITRES_PER_LITRE)
    for product, volume_l in materials.product_l.items():
        bought += whole(volume_l * usable, MICROLITRES_PER_LITRE) * prices.product_price_e4(product)
    used = whole(materials.fuel_l, MICROLITRES_PER_LITRE) * prices.fuel_e4_per_l
    used += whole(materials.blades, PARTS_PER_BLADE) * (prices.blade_e4 * MICROLITRES_PER_LITRE // PARTS_PER_BLADE)
    return bought, used


def mileage_parts(crew_days: FloatArray, round_trip_km: FloatArray) -> IntArray:
    """Thousandths of a mile driven: one vehicle a crew, a round trip each crew-day."""
    return whole(crew_days * round_trip_km, PARTS_PER_MILE * 1000 / METRES_PER_MILE)


def mileage_cents(prices: Prices, crew_days: FloatArray, round_trip_km: FloatArray) -> IntArray:
    """Distance x rate a mile, rounded once."""
    parts_of_mile = mileage_parts(crew_days, round_trip_km)
    return ratio_cents(parts_of_mile * prices.mileage_e4_per_mile, PARTS_PER_MILE * E4_PER_CENT)


def equipment_seconds(time: PaidTime) -> IntArray:
    """Equipment runs while the people sent work on the patch."""
    return whole(time.field_person_hours / time.people, SECONDS_PER_HOUR)


def equipment_cents(prices: Prices, jobs: Jobs, time: PaidTime) -> IntArray:
    """Field crew-hours x the method's rate, rounded once."""
    rates = np.array([prices.equipment_e4_per_hour.get(method, 0) for method in jobs.methods], np.int64)
    if not rates.any():
        return np.zeros(len(jobs), np.int64)
    return ratio_cents(equipment_seconds(time) * rates[jobs.method_index], SECONDS_PER_HOUR * E4_PER_CENT)


def contract_cents(prices: Prices, jobs: Jobs, worked_area_m2: FloatArray, usable: FloatArray) -> IntArray:
    """The contractor's price by method: treated ground in whole m2, at the hectare's price, or the least job."""
    known = [method in prices.contract_e4_per_ha for method in jobs.methods]
    if not any(known):
        return np.full(len(jobs), NO_CONTRACT, np.int64)
    by_ha = np.array([prices.contract_e4_per_ha.get(method, 0) for method in jobs.methods], np.int64)
    least = np.array([prices.contract_minimum_e4.get(method, 0) for method in jobs.methods], np.int64)
    square_metres = int(SQUARE_METRES_PER_HECTARE)
    amount = np.maximum(whole(worked_area_m2, 1) * by_ha[jobs.method_index], least[jobs.method_index] * square_metres)
    priced = np.array(known)[jobs.method_index] & (usable > 0)
    return np.where(priced, ratio_cents(amount, square_metres * E4_PER_CENT), NO_CONTRACT)


def job_money(
    *,
    jobs: Jobs,
    prices: Prices,
    crew_day: CrewDay,
    time: PaidTime,
    skill_hours: Mapping[str, FloatArray],
    round_trip_km: FloatArray,
    materials: Materials,
    worked_area_m2: FloatArray,
    log_sd: FloatArray,
    survey_log_sd: FloatArray,
    contingency_level: float,
) -> Money:
    """All money of the jobs; see the formulas at the top."""
    usable = np.where(np.isnan(time.paid_person_hours), 0.0, 1.0)
    labor = labor_cents(prices, crew_day, skill_hours, time)
    bought, used = material_amounts(prices, materials, usable)
    material = ratio_cents(bought + used, MICROLITRES_PER_LITRE * E4_PER_CENT)
    mileage = mileage_cents(prices, time.crew_days, round_trip_km)
    equipment = equipment_cents(prices, jobs, time)
    total = labor + mileage + equipment + material
    by_survey = bought / (MICROLITRES_PER_LITRE * E4_PER_CENT)
    by_hours = total - by_survey

    def point(z: float) -> FloatArray:
        return by_hours * np.exp(z * log_sd) + by_survey * np.exp(z * survey_log_sd)

    level = NormalDist().inv_cdf(max(contingency_level, NO_CONTINGENCY))
    asked = float_cents(point(level)) if level else total
    return Money(
        labor,
        material,
        mileage,
        equipment,
        total,
        float_cents(point(-HIGH_Z)),
        float_cents(point(HIGH_Z)),
        float_cents(by_hours * np.exp(log_sd**2 / 2) + by_survey * np.exp(survey_log_sd**2 / 2)),
        np.where(usable > 0, np.maximum(asked - total, 0), 0),
        contract_cents(prices, jobs, worked_area_m2, usable),
    )
