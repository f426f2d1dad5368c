"""The same formulas row by row in plain Python, as a spreadsheet's author would write them: the slow yardstick.

Each job is worked out by itself from its patch and components; nothing is kept from one job to the next but the parsed
rates. Hours, ranges, crew time, materials and money; not the notes.
"""

import math
from fractions import Fraction
from statistics import NormalDist
from typing import Any

from estimating.columns import Known
from estimating.crewday import day_overhead_hours
from estimating.inputs import CLIMBING, GROWTH_FORMS
from estimating.pricing import to_cents
from tests.benchmarks.made import MIX_OF_METHOD

STEM_CM = (1.25, 5.0, 10.0)
STEMS = ("stems_small", "stems_medium", "stems_large")
BY_STEMS = (*STEMS, "stem_diameter_cm", "upper_cuts")
Z90 = NormalDist().inv_cdf(0.90)


def rows_of(case, patches):
    """Patches with their components as plain values, which is what a loop over rows has before it."""
    listed: list[tuple[Any, list[Any]]] = [(case.patches.row(index), []) for index in range(patches)]
    for index, at in enumerate(case.components.patch_index.tolist()):
        if at < patches:
            listed[at][1].append(case.components.row(index))
    return listed


def loop(case, rows):
    """Figures of every job, method by method, in the order of the arrays."""
    return [Job(case, method, patch, parts).figures() for method in case.jobs.methods for patch, parts in rows]


class Part:
    """A component as one method sees it."""

    def __init__(self, book, method, patch, facts):
        self.facts, self.patch = facts, patch
        self.form = facts["growth_form"]
        name = GROWTH_FORMS[self.form]
        late = patch["repeat_year"] >= 3
        self.cover = book.allowance("maintenance_cover") if late else facts["cover_likely"]
        self.infested = facts["infested_area_m2"]
        self.canopy = self.infested * self.cover
        self.missing = [late or math.isnan(count) for count in facts["stems"]]
        dense = [book.allowance(f"{stem}_per_m2", "", name, 0.0) * self.canopy for stem in STEMS]
        self.stems = [dense[n] if self.missing[n] else count for n, count in enumerate(facts["stems"])]
        self.stem_cm = sum(count * width for count, width in zip(self.stems, STEM_CM, strict=True))
        self.debris = self.canopy * book.allowance("debris_m3_per_m2", method, name, 0.0)
        self._upper(book)
        self._errors(book, late)

    def _upper(self, book):
        climbs, given = self.form == CLIMBING, self.facts["cut_height_m"]
        usual = book.allowance("upper_cut_height_m", missing=math.nan)
        self.cut_m = (usual if math.isnan(given) else given) if climbs else math.nan
        ends_below = 0 < self.facts["height_m"] <= self.cut_m
        self.upper = sum(self.stems) if climbs and not ends_below else 0.0

    def _errors(self, book, late):
        classed, likely = self.facts["cover_from_class"], self.facts["cover_likely"]
        width = self.facts["cover_high"] - self.facts["cover_low"]
        share = 0.0 if late else width / (math.sqrt(12) if classed else 2.563103) / (likely if likely > 0 else 1.0)
        blurred = book.spread("cover_class" if classed or late else "cover_measured")
        self.cover_sd = math.sqrt(math.log1p(share**2) + blurred**2)
        self.area_sd = book.spread("area_mapped" if self.patch["area_mapped"] else "area_by_eye")
        self.stems_sd = book.spread("stems_assumed" if any(self.missing) else "stems_counted")

    def quantity(self, driver, volume_l):
        if driver in STEMS:
            return self.stems[STEMS.index(driver)]
        if driver == "rooting_debris_m3":
            return self.debris if self.facts["reroots"] != Known.NO else 0.0
        known = {"infested_area_m2": self.infested, "spray_volume_l": volume_l, "debris_m3": self.debris}
        known |= {"stem_diameter_cm": self.stem_cm, "upper_cuts": self.upper}
        return known[driver]


class Job:
    """One patch by one method."""

    def __init__(self, case, method, patch, parts):
        self.case, self.book, self.method, self.patch = case, case.book, method, patch
        self.steps = self.book.method_steps(method)
        treats = self.book.treats(method)
        self.parts = [Part(self.book, method, patch, facts) for facts in parts]
        self.treated = [part for part in self.parts if treats[part.form]]
        self._volumes()
        self.standard = self.shared = self.own = self.searched = 0.0
        self.moved = {id(part): [0.0, 0.0, 0.0] for part in self.parts}
        self.skills = {}
        for step in self.steps:
            self._step(step)

    def _volumes(self):
        at = MIX_OF_METHOD.get(self.method)
        self.mix = None if at is None else self.case.mixes[at]
        row = self.book.find("allowance", "carrier_l_per_ha", self.method)
        self.canopy_mix: bool
        carrier, self.canopy_mix = (row.value, row.unit == "l per ha of canopy") if row else (0.0, False)
        dose = self.book.allowance("stem_dose_ml_per_cm", self.method, missing=0.0)
        self.tank_l = self.book.allowance("tank_l", self.method, missing=1.0)
        if self.mix is not None:
            carrier, dose = self.mix.carrier_l_per_ha or 0.0, self.mix.stem_dose_ml_per_cm or 0.0
            self.canopy_mix, self.tank_l = self.mix.area_basis == "canopy", self.mix.tank_l
        self.sprays = carrier > 0
        self.volumes = {}
        self.area_m2 = 0.0
        for part in self.treated:
            area = part.canopy if self.canopy_mix else part.infested
            self.area_m2 += area
            self.volumes[id(part)] = area * carrier / 10_000 + part.stem_cm * dose / 1000
        self.volume_l = sum(self.volumes.values())
        self.loads = max(0, math.ceil(self.volume_l / self.tank_l - 1e-9))

    def _factor(self, step, part):
        product = 1.0
        for bands in step.factors:
            product *= self._multiplier(bands, part)
        return product

    def _multiplier(self, bands, part):
        if bands.driver in ("height_m", "cut_height_m"):
            if part is None:
                return 1.0
            value = part.cut_m if bands.driver == "cut_height_m" else part.facts["height_m"]
        else:
            value = self.patch[bands.driver]
            if bands.driver in ("wet_ground", "evergreen_natives"):
                value = 1 if value == Known.YES else 0
            if bands.driver == "ground" and value == 3:
                value = 0
        found = 1.0
        for threshold, multiplier in zip(bands.thresholds, bands.values, strict=True):
            found = multiplier if value >= threshold else found
        return found

    def _step(self, step):
        hours = self._component_step(step) if step.by_component else self._job_step(step)
        self.standard += hours
        self.skills[step.skill] = self.skills.get(step.skill, 0.0) + hours

    def _component_step(self, step):
        total = 0.0
        for part in self.parts:
            rate, form = step.hours_per_unit[part.form], part.form
            if math.isnan(rate):
                continue
            exponent = step.cover_exponent[form]
            quantity = part.quantity(step.driver, self.volumes.get(id(part), 0.0))
            hours = float(rate * quantity * part.cover**exponent * self._factor(step, part))
            total += hours
            self.shared += hours * step.shared_spread[form]
            self.own += hours * step.own_spread[form]
            self._move(part, hours, step, exponent)
        return total

    def _move(self, part, hours, step, exponent):
        sprayed = step.driver in ("spray_volume_l", "tank_loads")
        by_stem = step.driver in BY_STEMS or (sprayed and not self.sprays)
        canopy = self.canopy_mix and self.sprays if sprayed else step.driver.endswith("_m3")
        area, cover, stems = self.moved[id(part)]
        extra = 0 if by_stem else int(canopy)
        self.moved[id(part)] = [
            area + hours * (not by_stem),
            cover + hours * (exponent + extra),
            stems + hours * by_stem,
        ]

    def _job_step(self, step):
        count = {"gross_area_m2": self.patch["gross_area_m2"], "tank_loads": self.loads}.get(step.driver, 1)
        hours = float(step.hours_per_unit[0] * count * self._factor(step, None))
        self.shared += hours * step.shared_spread[0]
        self.own += hours * step.own_spread[0]
        if step.driver == "gross_area_m2":
            self.searched += hours
        if step.driver == "tank_loads" and self.volume_l > 0:
            for part in self.treated:
                self._move(part, hours * self.volumes[id(part)] / self.volume_l, step, 0.0)
        return hours

    def _survey_sd(self):
        cover = area = stems = 0.0
        for part in self.parts:
            by_area, by_cover, by_stems = self.moved[id(part)]
            dense = by_stems if any(part.missing) else 0.0
            cover += (by_cover + dense) * part.cover_sd
            area += (by_area + dense) * part.area_sd
            stems += by_stems * part.stems_sd
        mapped = self.book.spread("area_mapped" if self.patch["area_mapped"] else "area_by_eye")
        return math.sqrt(cover**2 + (area + self.searched * mapped) ** 2 + stems**2)

    def _productive(self):
        patch, day = self.patch, self.case.crew_day
        walk = patch["walk_in_minutes"] / 30
        if math.isnan(walk):
            slope = math.tan(math.radians(patch["walk_in_slope_deg"]))
            paces = math.exp(3.5 * abs(slope + 0.05)) + math.exp(3.5 * abs(0.05 - slope))
            walk = patch["walk_in_distance_m"] * paces / 3600
        left = day.shift_hours - day_overhead_hours(day) - patch["drive_minutes"] / 30 - walk
        return left * day.work_minutes_per_hour / 60

    def figures(self):
        """Hours, range, crew-days, materials and cents of this job; None where it has no figures."""
        productive, day = self._productive(), self.case.crew_day
        if not self.treated or productive <= 0:
            return None
        book, method = self.book, self.method
        sent = min(day.size, max(1.0, book.allowance("crew_most", method, missing=math.inf)))
        room = book.allowance("elbow_room_m2", method, missing=0.0)
        worked = sum(part.infested for part in self.treated)
        crowding = 1 + (sent - 1) * room / (room + worked) if room else 1.0
        pace = sum(people * day.pace.get(role, 1.0) for role, people in day.people.items()) / day.size
        stretch = crowding / pace
        hours, safe = self.standard * stretch, self.standard or 1.0
        sds = (self.shared / safe, self.own / safe, self._survey_sd() / safe)
        log_sd = math.sqrt(sum(sd**2 for sd in sds))
        allowance = 1 + day.allowance if day.allowance_basis == "job" else 1 / (1 - day.allowance)
        crew_days = hours * allowance / (sent * productive)
        found = {"hours": hours, "low": hours * math.exp(-Z90 * log_sd), "high": hours * math.exp(Z90 * log_sd)}
        found |= {"mean": hours * math.exp(log_sd**2 / 2), "survey": sds[2], "crew_days": crew_days}
        found |= {"paid": crew_days * day.shift_hours * sent, "volume_l": self.volume_l, "loads": self.loads}
        found |= self._goods(hours / sent)
        return found | self._cents(found, stretch, sent, log_sd, sds[2])

    def _goods(self, crew_hours):
        debris = sum(part.debris for part in self.treated)
        share = self.book.allowance("bagged_share", self.method, missing=0.0)
        return {
            "debris_m3": debris,
            "bags": math.ceil(debris * share / self.book.allowance("bag_m3") - 1e-9) if share else 0,
            "fuel_l": crew_hours * self.book.allowance("fuel_l_per_hour", self.method, missing=0.0),
            "blades": crew_hours * self.book.allowance("blades_per_hour", self.method, missing=0.0),
        }

    def _labor(self, paid, stretch):
        prices, day = self.case.prices, self.case.crew_day
        crew_rate = sum(people * prices.role_rate_e4(role) for role, people in day.people.items())
        other, amount = round(paid * 3600), 0
        for skill, hours in self.skills.items():
            seconds = round(hours * stretch * 3600)
            other -= seconds
            amount += seconds * prices.skill_rate_e4(skill) * day.size
        return to_cents(Fraction(amount + max(other, 0) * crew_rate, day.size * 3600 * 10_000))

    def _bought(self, bags):
        bought = bags * self.case.prices.bag_e4 * 1_000_000
        if self.mix is None:
            return bought
        for part in self.mix.parts:
            litres = self.volume_l * self.mix.fraction(part)
            bought += round(litres * 1e6) * self.case.prices.product_price_e4(part.product)
        return bought

    def _cents(self, found, stretch, sent, log_sd, survey):
        prices = self.case.prices
        bought = self._bought(found["bags"])
        used = round(found["fuel_l"] * 1e6) * prices.fuel_e4_per_l
        used += round(found["blades"] * 1e3) * prices.blade_e4 * 1000
        miles = round(found["crew_days"] * 2 * self.patch["drive_km"] * 1e6 / 1609.344)
        running = round(found["hours"] / sent * 3600) * prices.equipment_e4_per_hour.get(self.method, 0)
        cents = {
            "labor_cents": self._labor(found["paid"], stretch),
            "material_cents": to_cents(Fraction(bought + used, 10_000_000_000)),
            "mileage_cents": to_cents(Fraction(miles * prices.mileage_e4_per_mile, 10_000_000)),
            "equipment_cents": to_cents(Fraction(running, 36_000_000)),
        }
        total = sum(cents.values())
        by_survey = bought / 1e8
        by_hours = total - by_survey
        level = NormalDist().inv_cdf(max(self.book.allowance("contingency_level", missing=0.5), 0.5))
        points = [
            math.floor(by_hours * math.exp(z * log_sd) + by_survey * math.exp(z * survey) + 0.5)
            for z in (-Z90, Z90, level)
        ]
        cents |= {"total_cents": total, "low_c_cents": points[0], "high_c_cents": points[1]}
        mean = by_hours * math.exp(log_sd**2 / 2) + by_survey * math.exp(survey**2 / 2)
        return cents | {"mean_c_cents": math.floor(mean + 0.5), "contingency_cents": max(points[2] - total, 0)}
