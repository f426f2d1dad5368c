"""The formulas of an estimate once more, by hand in plain numpy: what somebody would write who needed only this case.

All patches by all methods, each method on all components of a patch. Nothing here is shared with `estimating` but the
facts, the parsed rates, the rounding rules' definitions, and the constants of nature; it is the yardstick for speed,
and the second opinion on every figure (tests/benchmarks/test_reference.py).
"""

from statistics import NormalDist
from typing import Any

import numpy as np

from estimating.crewday import day_overhead_hours
from estimating.inputs import CLIMBING
from tests.benchmarks.made import MIX_OF_METHOD

STEM_CM = np.array([1.25, 5.0, 10.0])
Z90 = NormalDist().inv_cdf(0.90)
STEMS = {"stems_small": 0, "stems_medium": 1, "stems_large": 2}
ROOM: tuple[str, ...] = (
    "standard",
    "hours",
    "low",
    "high",
    "mean",
    "shared",
    "own",
    "survey",
    "crew_days",
    "paid",
    "volume_l",
    "loads",
)
ROOM += ("area_m2", "debris_m3", "bags", "fuel_l", "blades", "worked_m2", "crowding")
CENTS = ("labor", "material", "mileage", "equipment", "total", "low_c", "high_c", "mean_c", "contingency", "contract")


class Shared:
    """What several methods need of the components, computed once."""

    def __init__(self, case):
        self.case, self.book = case, case.book
        parts, patches = case.components, case.patches
        self.at, self.form, self.n = parts.patch_index, parts.growth_form, len(patches)
        self.late = (patches.repeat_year >= 3)[self.at]
        self.infested = parts.infested_area_m2
        self.cover = np.where(self.late, self.book.allowance("maintenance_cover"), parts.cover_likely)
        self.canopy = self.infested * self.cover
        self._stems(parts)
        self._errors(parts, patches)
        self.powers, self.factors, self.patch_factors, self.debris = {}, {}, {}, {}

    def _stems(self, parts):
        density = np.stack([self.book.form_allowance(f"{name}_per_m2", missing=0.0) for name in STEMS], axis=1)
        missing = np.isnan(parts.stems) | self.late[:, None]
        self.stems = np.where(missing, density[self.form] * self.canopy[:, None], parts.stems)
        self.assumed = missing.any(axis=1)
        self.stem_cm = self.stems @ STEM_CM
        climbs = self.form == CLIMBING
        usual_m = self.book.allowance("upper_cut_height_m", missing=np.nan)
        self.cut_m = np.where(climbs, np.where(np.isnan(parts.cut_height_m), usual_m, parts.cut_height_m), np.nan)
        above = ~((parts.height_m > 0) & (parts.height_m <= self.cut_m))
        self.upper = np.where(climbs & above, self.stems.sum(axis=1), 0.0)

    def _errors(self, parts, patches):
        spread = self.book.spread
        per_sd = np.where(parts.cover_from_class, np.sqrt(12), 2.563103)
        share = (parts.cover_high - parts.cover_low) / per_sd / np.where(parts.cover_likely > 0, parts.cover_likely, 1)
        blurred = np.where(parts.cover_from_class | self.late, spread("cover_class"), spread("cover_measured"))
        self.cover_sd = np.sqrt(np.log1p(np.where(self.late, 0.0, share) ** 2) + blurred**2)
        self.patch_area_sd = np.where(patches.area_mapped, spread("area_mapped"), spread("area_by_eye"))
        self.area_sd = self.patch_area_sd[self.at]
        self.stems_sd = np.where(self.assumed, spread("stems_assumed"), spread("stems_counted"))

    def by_patch(self, values):
        return np.bincount(self.at, weights=values, minlength=self.n)

    def power(self, exponents):
        key = tuple(exponents)
        if key not in self.powers:
            one = len(set(key)) == 1
            self.powers[key] = self.cover ** (key[0] if one else exponents[self.form])
        return self.powers[key]

    def patch_factor(self, bands):
        if bands not in self.patch_factors:
            product = np.ones(self.n)
            for band in bands:
                product *= self._multiplier(band, self._patch_values(band.driver))
            self.patch_factors[bands] = product
        return self.patch_factors[bands]

    def _patch_values(self, driver):
        values = getattr(self.case.patches, driver)
        if driver == "ground":
            return np.where(values == 3, 0, values)
        return values == 1 if driver in ("wet_ground", "evergreen_natives") else values

    def _multiplier(self, band, values):
        values = np.nan_to_num(np.asarray(values, float), nan=-np.inf)
        return np.array((1.0, *band.values))[np.searchsorted(np.array(band.thresholds), values, side="right")]

    def factor(self, step):
        if step.factors not in self.factors:
            product = self.patch_factor(step.patch_factors)[self.at]
            for band in step.component_factors:
                values = self.cut_m if band.driver == "cut_height_m" else self.case.components.height_m
                product = product * self._multiplier(band, values)
            self.factors[step.factors] = product
        return self.factors[step.factors]

    def debris_of(self, method):
        per_m2 = self.book.form_allowance("debris_m3_per_m2", method, missing=0.0)
        if tuple(per_m2) not in self.debris:
            self.debris[tuple(per_m2)] = self.canopy * per_m2[self.form]
        return self.debris[tuple(per_m2)]


class OneMethod:
    """Volumes, hours and errors of one method on all patches."""

    def __init__(self, shared, method):
        self.s, self.method, self.book = shared, method, shared.book
        self.steps = self.book.method_steps(method)
        self.treats = self.book.treats(method)[shared.form].astype(float)
        self._volumes(shared.case.mixes)
        zeros = np.zeros(len(shared.at))
        self.by_area, self.by_cover, self.by_stems = zeros.copy(), zeros.copy(), zeros.copy()
        self.searched = np.zeros(shared.n)
        self._effort()

    def _volumes(self, mixes):
        at = MIX_OF_METHOD.get(self.method)
        row = self.book.find("allowance", "carrier_l_per_ha", self.method)
        self.canopy_mix: bool
        carrier, self.canopy_mix = (row.value, row.unit == "l per ha of canopy") if row else (0.0, False)
        dose = self.book.allowance("stem_dose_ml_per_cm", self.method, missing=0.0)
        tank = self.book.allowance("tank_l", self.method, missing=1.0)
        if at is not None:
            mix = mixes[at]
            carrier, dose = mix.carrier_l_per_ha or 0.0, mix.stem_dose_ml_per_cm or 0.0
            self.canopy_mix, tank = mix.area_basis == "canopy", mix.tank_l
        self.sprays = carrier > 0
        area = (self.s.canopy if self.canopy_mix else self.s.infested) * self.treats
        self.pair_l = area * (carrier / 1e4) + self.s.stem_cm * self.treats * (dose / 1000)
        self.volume_l, self.area_m2 = self.s.by_patch(self.pair_l), self.s.by_patch(area)
        self.loads = np.ceil(self.volume_l / tank - 1e-9).clip(0)

    def _effort(self):
        self.hours = np.zeros((len(self.steps), self.s.n))
        self.shared, self.own = np.zeros(self.s.n), np.zeros(self.s.n)
        self.skills: dict[str, Any] = {}
        for index, step in enumerate(self.steps):
            pair = self._by_components(step) if step.by_component else None
            self.hours[index] = self._by_patch(step) if pair is None else self.s.by_patch(pair)
            self.shared += self._spread(step.shared_spread, pair, self.hours[index])
            self.own += self._spread(step.own_spread, pair, self.hours[index])
            self.skills[step.skill] = self.skills.get(step.skill, 0.0) + self.hours[index]
        self.standard = self.hours.sum(axis=0)
        self._finish(np.where(self.standard > 0, self.standard, 1.0))

    def _finish(self, safe):
        s = self.s
        density = self.by_stems * s.assumed
        cover = s.by_patch((self.by_cover + density) * s.cover_sd)
        area = s.by_patch((self.by_area + density) * s.area_sd) + self.searched * s.patch_area_sd
        stems = s.by_patch(self.by_stems * s.stems_sd)
        self.survey = np.sqrt(cover**2 + area**2 + stems**2) / safe
        self.shared /= safe
        self.own /= safe

    def _spread(self, by_form, pair, hours):
        if len(set(by_form)) == 1:
            return hours * by_form[0]
        return self.s.by_patch(pair * by_form[self.s.form])

    def _quantity(self, driver):
        if driver in STEMS:
            return self.s.stems[:, STEMS[driver]]
        if driver == "rooting_debris_m3":
            return np.where(self.s.case.components.reroots != 0, self.s.debris_of(self.method), 0.0)
        known = {
            "infested_area_m2": self.s.infested,
            "spray_volume_l": self.pair_l,
            "stem_diameter_cm": self.s.stem_cm,
            "upper_cuts": self.s.upper,
        }
        return self.s.debris_of(self.method) if driver == "debris_m3" else known[driver]

    def _by_components(self, step):
        pair = np.nan_to_num(step.hours_per_unit)[self.s.form] * self._quantity(step.driver)
        pair = pair * self.s.power(step.cover_exponent) * self.s.factor(step)
        exponents = step.cover_exponent
        exponent = exponents[0] if len(set(exponents)) == 1 else exponents[self.s.form]
        if step.driver in (*STEMS, "stem_diameter_cm", "upper_cuts") or self._goes_by_stem(step):
            self.by_stems += pair
        else:
            self.by_area += pair
            exponent = exponent + (self.canopy_mix if step.driver == "spray_volume_l" else step.driver.endswith("_m3"))
        self.by_cover += pair * exponent
        return pair

    def _goes_by_stem(self, step):
        return step.driver == "spray_volume_l" and not self.sprays

    def _by_patch(self, step):
        if step.driver == "gross_area_m2":
            hours = step.hours_per_unit[0] * self.s.case.patches.gross_area_m2 * self.s.patch_factor(step.patch_factors)
            self.searched += hours
            return hours
        count = self.loads if step.driver == "tank_loads" else 1.0
        hours = step.hours_per_unit[0] * count * self.s.patch_factor(step.patch_factors)
        if step.driver == "tank_loads":
            moved = (hours / np.where(self.volume_l > 0, self.volume_l, 1.0))[self.s.at] * self.pair_l
            if self.sprays:
                self.by_area += moved
                self.by_cover += moved * self.canopy_mix
            else:
                self.by_stems += moved
        return hours


def _productive(case):
    """Hours of work that a shift leaves at each patch; walking by Tobler, off the path, where no minutes are given."""
    patches, day = case.patches, case.crew_day
    slope = np.tan(np.radians(patches.walk_in_slope_deg))
    there, back = np.exp(3.5 * np.abs(slope + 0.05)), np.exp(3.5 * np.abs(0.05 - slope))
    walked = patches.walk_in_distance_m * (there + back) / 3600
    walk = np.where(np.isnan(patches.walk_in_minutes), walked, patches.walk_in_minutes / 30)
    left = day.shift_hours - day_overhead_hours(day) - patches.drive_minutes / 30 - walk
    left = left * day.work_minutes_per_hour / 60
    return np.where(left > 0, left, np.nan)


def reference(case):
    """All figures of the case, each [method, patch], and the hours of each step by method."""
    shared = Shared(case)
    productive = _productive(case)
    count = len(case.jobs.methods)
    found = {name: np.zeros((count, shared.n)) for name in ROOM}
    found |= {name: np.zeros((count, shared.n), np.int64) for name in ("notes", *(f"{name}_cents" for name in CENTS))}
    found |= {product: np.zeros((count, shared.n)) for mix in case.mixes for product in (p.product for p in mix.parts)}
    blocks = []
    for row, method in enumerate(case.jobs.methods):
        work = OneMethod(shared, method)
        figures = _figures(case, work, productive)
        for name, values in figures.items():
            found[name][row] = values
        blocks.append(work.hours)
    return found, blocks


def _figures(case, work, productive):
    book, day, method, size = case.book, case.crew_day, work.method, case.crew_day.size
    sent = min(size, max(1.0, book.allowance("crew_most", method, missing=np.inf)))
    room = book.allowance("elbow_room_m2", method, missing=0.0)
    worked = work.s.by_patch(work.s.infested * work.treats)
    crowding = 1 + (sent - 1) * room / (room + worked) if room else np.ones(work.s.n)
    pace = sum(people * day.pace.get(role, 1.0) for role, people in day.people.items()) / size
    stretch = crowding / pace
    done = work.s.by_patch(work.treats) > 0
    hours = np.where(done & ~np.isnan(productive), work.standard * stretch, np.nan)
    allowance = 1 + day.allowance if day.allowance_basis == "job" else 1 / (1 - day.allowance)
    crew_days = hours * allowance / (sent * productive)
    log_sd = np.sqrt(work.shared**2 + work.own**2 + work.survey**2)
    reach = np.exp(Z90 * log_sd)
    found = {"standard": work.standard, "hours": hours, "low": hours / reach, "high": hours * reach}
    found |= {"mean": hours * np.exp(log_sd**2 / 2), "shared": work.shared, "own": work.own, "survey": work.survey}
    found |= {"crew_days": crew_days, "paid": crew_days * day.shift_hours * sent, "crowding": crowding}
    found |= {"volume_l": work.volume_l, "area_m2": work.area_m2, "loads": work.loads, "worked_m2": worked}
    found |= _goods(book, work, hours / sent)
    found |= _products(case, work) | {"notes": _notes(case, work, sent < size, size, productive)}
    return found | _cents(case, work, found, stretch, sent, log_sd)


def _products(case, work):
    at = MIX_OF_METHOD.get(work.method)
    parts = case.mixes[at].parts if at is not None else ()
    return {part.product: work.volume_l * case.mixes[at].fraction(part) for part in parts}


def _notes(case, work, part_sent, size, productive):
    s, drivers = work.s, {step.driver for step in work.steps}
    treated, every = s.by_patch(work.treats), np.bincount(s.at, minlength=s.n)
    notes = (treated == 0) * 1 + np.isnan(productive) * 2 + ((treated > 0) & (treated < every)) * 4
    if not drivers.isdisjoint(("spray_volume_l", "tank_loads")) and work.method not in MIX_OF_METHOD:
        notes += 8
    if not drivers.isdisjoint((*STEMS, "stem_diameter_cm", "upper_cuts")):
        notes += (s.by_patch(work.treats * s.assumed) > 0) * 16
    notes += (s.by_patch(work.treats * case.components.cover_from_class) > 0) * 32
    notes += 64 * (size < case.book.allowance("crew_least", work.method, missing=1.0)) + 128 * part_sent
    for step in work.steps:
        if step.driver == "rooting_debris_m3":
            unknown = (case.components.reroots == 2) & (s.debris_of(work.method) > 0)
            notes += (s.by_patch(unknown & (np.nan_to_num(step.hours_per_unit) > 0)[s.form]) > 0) * 512
    return notes


def _goods(book, work, crew_hours):
    method = work.method
    debris = work.s.by_patch(work.s.debris_of(method) * work.treats)
    share = book.allowance("bagged_share", method, missing=0.0)
    bags = np.ceil(debris * share / book.allowance("bag_m3") - 1e-9) if share else np.zeros(work.s.n)
    return {
        "debris_m3": debris,
        "bags": bags,
        "fuel_l": crew_hours * book.allowance("fuel_l_per_hour", method, missing=0.0),
        "blades": crew_hours * book.allowance("blades_per_hour", method, missing=0.0),
    }


def _whole(values, scale=1.0):
    return np.rint(np.where(np.isnan(values), 0.0, values) * scale).astype(np.int64)


def _half_up(numerator, denominator):
    return (2 * numerator + denominator) // (2 * denominator)


def _labor(case, work, paid, stretch, good):
    prices, day = case.prices, case.crew_day
    crew_rate = sum(people * prices.role_rate_e4(role) for role, people in day.people.items())
    other, amount = _whole(paid, 3600), 0
    for skill, hours in work.skills.items():
        seconds = _whole(np.where(good, hours * stretch, 0.0), 3600)
        other = other - seconds
        amount = amount + seconds * (prices.skill_rate_e4(skill) * day.size)
    return _half_up(amount + np.maximum(other, 0) * crew_rate, day.size * 3600 * 100)


def _bought(case, work, bags, good):
    bought = _whole(np.where(good, bags, 0.0)) * (case.prices.bag_e4 * 1_000_000)
    for product, litres in _products(case, work).items():
        bought = bought + _whole(np.where(good, litres, 0.0), 1e6) * case.prices.product_price_e4(product)
    return bought


def _cents(case, work, found, stretch, sent, log_sd):
    prices, good = case.prices, ~np.isnan(found["hours"])
    labor = _labor(case, work, found["paid"], stretch, good)
    bought = _bought(case, work, found["bags"], good)
    used = _whole(found["fuel_l"], 1e6) * prices.fuel_e4_per_l + _whole(found["blades"], 1e3) * (prices.blade_e4 * 1000)
    material = _half_up(bought + used, 100_000_000)
    miles = _whole(found["crew_days"] * (2 * case.patches.drive_km), 1e6 / 1609.344)
    mileage = _half_up(miles * prices.mileage_e4_per_mile, 100_000)
    running = _whole(found["hours"] / sent, 3600) * prices.equipment_e4_per_hour.get(work.method, 0)
    equipment = _half_up(running, 360_000)
    total = labor + material + mileage + equipment
    by_survey = bought / 1e8
    by_hours = total - by_survey
    level = NormalDist().inv_cdf(max(case.book.allowance("contingency_level", missing=0.5), 0.5))

    def point(z):
        return _cent(by_hours * np.exp(z * log_sd) + by_survey * np.exp(z * work.survey))

    mean = _cent(by_hours * np.exp(log_sd**2 / 2) + by_survey * np.exp(work.survey**2 / 2))
    contingency = np.where(good, np.maximum(point(level) - total, 0), 0)
    contract = _contract(prices, work, found["worked_m2"], good)
    values = (labor, material, mileage, equipment, total, point(-Z90), point(Z90), mean, contingency, contract)
    return {f"{name}_cents": amounts for name, amounts in zip(CENTS, values, strict=True)}


def _cent(amounts):
    return np.floor(amounts + 0.5).astype(np.int64)


def _contract(prices, work, worked_m2, good):
    if work.method not in prices.contract_e4_per_ha:
        return np.full(len(good), -1)
    least = prices.contract_minimum_e4.get(work.method, 0) * 10_000
    amount = np.maximum(_whole(worked_m2) * prices.contract_e4_per_ha[work.method], least)
    return np.where(good, _half_up(amount, 1_000_000), -1)
