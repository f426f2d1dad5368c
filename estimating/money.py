"""Money of jobs from their hours, distances and amounts, exact until each category's one rounding to the cent.

Field hours cost the standard rate of the role that has the step's skill; the rest of the paid day (drive, walk-in,
briefing, set-up, breaks, allowance) costs the crew's average rate by its make-up. Totals are sums of rounded
categories, so that a job's total equals the sum of its parts.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from estimating.columns import FloatArray, IntArray
from estimating.crewday import PaidTime
from estimating.inputs import CrewDay, Jobs, Prices
from estimating.pricing import E4_PER_CENT, MICROLITRES_PER_LITRE, PARTS_PER_MILE, float_cents, ratio_cents
from estimating.spread import HIGH_Z, Range
from estimating.units import METRES_PER_MILE, SECONDS_PER_HOUR


@dataclass(frozen=True)
class Money:
    """Whole cents by job. `low`, `high` and `mean` are of the total; `total` is its likely value, part by part."""

    labor_cents: IntArray
    material_cents: IntArray
    mileage_cents: IntArray
    equipment_cents: IntArray
    total_cents: IntArray
    low_cents: IntArray
    high_cents: IntArray
    mean_cents: IntArray


def whole(values: FloatArray, scale: float) -> IntArray:
    """Values as integers of a small unit; a missing value counts as 0."""
    return np.rint(np.nan_to_num(values) * scale).astype(np.int64)


def labor_cents(prices: Prices, crew_day: CrewDay, skill_hours: Mapping[str, FloatArray], time: PaidTime) -> IntArray:
    """Field seconds x the skill's rate + other paid seconds x the crew's average rate, rounded once."""
    usable = np.where(np.isnan(time.paid_person_hours), 0.0, 1.0)
    paid_seconds = whole(time.paid_person_hours, SECONDS_PER_HOUR)
    field_amount = np.zeros(len(usable), np.int64)
    field_seconds = np.zeros(len(usable), np.int64)
    for skill, hours in skill_hours.items():
        seconds = whole(hours * usable, SECONDS_PER_HOUR)
        field_seconds += seconds
        field_amount += seconds * prices.skill_rate_e4(skill)
    crew_rate = sum(count * prices.role_rate_e4(role) for role, count in crew_day.people.items())
    other_seconds = np.maximum(paid_seconds - field_seconds, 0)
    amount = field_amount * crew_day.size + other_seconds * crew_rate
    return ratio_cents(amount, crew_day.size * SECONDS_PER_HOUR * E4_PER_CENT)


def material_cents(
    prices: Prices, product_l: Mapping[str, FloatArray], bags: FloatArray, usable: FloatArray
) -> IntArray:
    """Products by volume and bags by piece, rounded once."""
    amount = whole(bags * usable, 1) * prices.bag_e4 * MICROLITRES_PER_LITRE
    for product, volume_l in product_l.items():
        amount = amount + whole(volume_l * usable, MICROLITRES_PER_LITRE) * prices.product_price_e4(product)
    return ratio_cents(amount, MICROLITRES_PER_LITRE * E4_PER_CENT)


def mileage_cents(prices: Prices, crew_days: FloatArray, round_trip_km: FloatArray) -> IntArray:
    """One vehicle a crew: round trips x distance x rate a mile, rounded once."""
    parts_of_mile = whole(crew_days * round_trip_km, PARTS_PER_MILE * 1000 / METRES_PER_MILE)
    return ratio_cents(parts_of_mile * prices.mileage_e4_per_mile, PARTS_PER_MILE * E4_PER_CENT)


def equipment_cents(prices: Prices, jobs: Jobs, crew_day: CrewDay, time: PaidTime) -> IntArray:
    """Equipment runs while the crew works on the patch: field crew-hours x the method's rate, rounded once."""
    rates = np.array([prices.equipment_e4_per_hour.get(method, 0) for method in jobs.methods], np.int64)
    seconds = whole(time.field_person_hours / crew_day.size, SECONDS_PER_HOUR)
    return ratio_cents(seconds * rates[jobs.method_index], SECONDS_PER_HOUR * E4_PER_CENT)


def job_money(
    *,
    jobs: Jobs,
    prices: Prices,
    crew_day: CrewDay,
    time: PaidTime,
    hours: Range,
    skill_hours: Mapping[str, FloatArray],
    round_trip_km: FloatArray,
    product_l: Mapping[str, FloatArray],
    bags: FloatArray,
    survey_log_sd: FloatArray,
) -> Money:
    """All money of the jobs.

    In the range, labor, mileage and equipment move with the hours, material with the survey's error; both are taken to
    be low, or high, together.
    """
    usable = np.where(np.isnan(time.paid_person_hours), 0.0, 1.0)
    labor = labor_cents(prices, crew_day, skill_hours, time)
    material = material_cents(prices, product_l, bags, usable)
    mileage = mileage_cents(prices, time.crew_days, round_trip_km)
    equipment = equipment_cents(prices, jobs, crew_day, time)
    by_hours = labor + mileage + equipment
    likely = np.where(hours.likely > 0, hours.likely, 1.0)
    reach = np.exp(HIGH_Z * survey_log_sd)
    return Money(
        labor,
        material,
        mileage,
        equipment,
        by_hours + material,
        float_cents(by_hours * (hours.low / likely) + material / reach),
        float_cents(by_hours * (hours.high / likely) + material * reach),
        float_cents(by_hours * (hours.mean / likely) + material * np.exp(survey_log_sd**2 / 2)),
    )
