"""The crew's paid day: walk-in, work/rest in heat, allowances, and what is left for the work itself.

    productive hours = (shift - drive - walk-in - briefing - set-up - clean-up - breaks) x work share in heat
    crew-days        = field person-hours / (crew size x productive hours), with the allowance on its named basis

A part of a day counts as that part: drive and set-up are shared by the jobs done on the same day.
"""

import math
from dataclasses import dataclass, field

import numpy as np

from estimating.columns import FloatArray
from estimating.errors import InvalidFact, UnknownCode, WorkStopped
from estimating.inputs import CrewDay, PatchFacts
from estimating.units import MINUTES_PER_HOUR

# Tobler's walking function, https://en.wikipedia.org/wiki/Tobler%27s_hiking_function
TOBLER_TOP_KM_H = 6.0
TOBLER_DECAY = 3.5
TOBLER_OFFSET = 0.05
OFF_PATH_FACTOR = 0.6

# Work minutes per hour by air temperature (F) for light, moderate and heavy work, normal clothing, 30% humidity.
# The published table begins at 90 F, where all work is normal up to 94 F.
# NIOSH 2016-106, http://www.cdc.gov/niosh/mining/content/heatstressworkrest.html. 60: normal work; 0: stop.
HEAT_FROM_F = 90
WORK_MINUTES_FIRST_F = 95
WORK_MINUTES = {
    "light": (60, 60, 60, 60, 60, 60, 60, 60, 60, 60, 60, 45, 40, 35, 30, 15, 0),
    "moderate": (60, 60, 60, 60, 60, 45, 40, 35, 30, 30, 25, 20, 15, 0, 0, 0, 0),
    "heavy": (45, 45, 40, 35, 35, 30, 30, 25, 20, 20, 15, 0, 0, 0, 0, 0, 0),
}

# Share of the usual exposure allowed on each day in heat, NIOSH acclimatization.
ACCLIMATIZATION = {"new": (0.2, 0.4, 0.6, 0.8, 1.0), "returning": (0.5, 0.6, 0.8, 1.0)}


def walking_km_h(slope_deg: float, *, off_path: bool = False) -> float:
    """Tobler: 6 exp(-3.5 |tan(slope) + 0.05|) km/h, uphill positive; off path x 0.6. For walking in, not for work."""
    on_path = TOBLER_TOP_KM_H * math.exp(-TOBLER_DECAY * abs(math.tan(math.radians(slope_deg)) + TOBLER_OFFSET))
    return on_path * OFF_PATH_FACTOR if off_path else on_path


def walk_in_hours(patches: PatchFacts) -> FloatArray:
    """Hours a day to walk from the gate to each patch and back, off path; the way out has the slope reversed."""
    slope = np.tan(np.radians(patches.walk_in_slope_deg))
    top_m_h = 1000 * TOBLER_TOP_KM_H * OFF_PATH_FACTOR
    pace_in = np.exp(TOBLER_DECAY * np.abs(slope + TOBLER_OFFSET)) / top_m_h
    pace_out = np.exp(TOBLER_DECAY * np.abs(-slope + TOBLER_OFFSET)) / top_m_h
    computed = patches.walk_in_distance_m * (pace_in + pace_out)
    given = 2 * patches.walk_in_minutes / MINUTES_PER_HOUR
    return np.where(np.isnan(given), computed, given)


def work_minutes_per_hour(air_temperature_f: float, workload: str) -> int:
    """Work minutes in each hour of heat; `WorkStopped` where the table says caution, so that nothing divides by 0.

    Temperatures between whole degrees count as the higher one; above the table's end work stops too.
    """
    if workload not in WORK_MINUTES:
        raise UnknownCode(f"must be one of {', '.join(WORK_MINUTES)}", "workload")
    if not math.isfinite(air_temperature_f):
        raise InvalidFact("must be a number", "air_temperature_f")
    row = math.ceil(air_temperature_f) - WORK_MINUTES_FIRST_F
    minutes = 60 if row < 0 else WORK_MINUTES[workload][min(row, len(WORK_MINUTES[workload]) - 1)]
    if minutes == 0:
        raise WorkStopped(f"no {workload} work at {air_temperature_f:g} °F: plan another day", "air_temperature_f")
    return minutes


def day_work_minutes(crew_day: CrewDay) -> float:
    """Work minutes in each hour of this day: its own figure or the heat table's, whichever is less; 0: work stops."""
    if crew_day.air_temperature_f is None:
        return crew_day.work_minutes_per_hour
    try:
        by_table = work_minutes_per_hour(crew_day.air_temperature_f, crew_day.workload)
    except WorkStopped:
        return 0.0
    return min(crew_day.work_minutes_per_hour, float(by_table))


def heat_share(crew_day: CrewDay) -> float:
    """Mean share of the shift that the crew's people may work in the day's heat, by how used to it they are.

        share = (size - new - returning + new x a_new[day] + returning x a_returning[day]) / size

    Counts only where the day's air temperature is given and reaches the first row of the work/rest table (90 F): an
    estimate made without a temperature does not know of heat, whatever `day_in_heat` says.
    """
    if crew_day.air_temperature_f is None or crew_day.air_temperature_f < HEAT_FROM_F:
        return 1.0
    new = acclimatized_hours(1.0, crew_day.day_in_heat, "new")
    returning = acclimatized_hours(1.0, crew_day.day_in_heat, "returning")
    used_to_it = crew_day.size - crew_day.new_workers - crew_day.returning_workers
    return (used_to_it + crew_day.new_workers * new + crew_day.returning_workers * returning) / crew_day.size


def acclimatized_hours(shift_hours: float, day_in_heat: int, person: str) -> float:
    """Hours of a shift a new or returning worker may work on the n-th day in heat (1 = first)."""
    if person not in ACCLIMATIZATION:
        raise UnknownCode(f"must be one of {', '.join(ACCLIMATIZATION)}", "person")
    if day_in_heat < 1:
        raise InvalidFact("counts from 1", "day_in_heat")
    shares = ACCLIMATIZATION[person]
    return shift_hours * shares[min(day_in_heat, len(shares)) - 1]


def standard_time(normal_time: float, allowance: float, basis: str) -> float:
    """Time with the allowance in it: normal x (1 + a) on the job basis, normal / (1 - a) on the shift basis."""
    if not 0 <= allowance < 1:
        raise InvalidFact("must be from 0 to below 1", "allowance")
    if basis == "job":
        return normal_time * (1 + allowance)
    if basis == "shift":
        return normal_time / (1 - allowance)
    raise UnknownCode("must be 'job' or 'shift'", "allowance_basis")


@dataclass(frozen=True)
class PaidTime:
    """Three figures that are easily mixed up, and what they were made of; one value a job, hours.

    `paid_person_hours` = people x paid hours; `crew_hours` = the same as hours of the whole crew; `crew_days` = as
    shifts. NaN where the way in leaves no time to work. `people`: how many of the crew are sent.
    """

    field_person_hours: FloatArray
    paid_person_hours: FloatArray
    crew_hours: FloatArray
    crew_days: FloatArray
    productive_hours_a_day: FloatArray
    people: FloatArray = field(default_factory=lambda: np.zeros(0))


def day_overhead_hours(crew_day: CrewDay) -> float:
    """Hours of each shift that go to briefing, set-up, clean-up and breaks."""
    minutes = crew_day.briefing_minutes + crew_day.setup_minutes + crew_day.cleanup_minutes + crew_day.break_minutes
    return minutes / MINUTES_PER_HOUR


def productive_hours(patches: PatchFacts, crew_day: CrewDay) -> FloatArray:
    """Hours of work a person has in a shift at each patch, before the allowance; 0 or less: none left."""
    drive = 2 * patches.drive_minutes / MINUTES_PER_HOUR if crew_day.drive_paid else np.zeros(len(patches))
    on_site: FloatArray = crew_day.shift_hours - day_overhead_hours(crew_day) - drive - walk_in_hours(patches)
    return on_site * day_work_minutes(crew_day) / MINUTES_PER_HOUR


def paid_time(
    field_person_hours: FloatArray,
    productive_hours_a_day: FloatArray,
    crew_day: CrewDay,
    people: FloatArray | None = None,
) -> PaidTime:
    """Paid time for field work of so many person-hours, done where a shift leaves so many productive hours.

    `people` by job is how many of the crew are sent; without it, all are.
    """
    sent = np.full(field_person_hours.shape, float(crew_day.size)) if people is None else people
    usable = np.where(productive_hours_a_day > 0, productive_hours_a_day, np.nan)
    stretch = standard_time(1.0, crew_day.allowance, crew_day.allowance_basis)
    crew_days = field_person_hours * stretch / (sent * usable)
    crew_hours = crew_days * crew_day.shift_hours
    return PaidTime(field_person_hours, crew_hours * sent, crew_hours, crew_days, usable, sent)
