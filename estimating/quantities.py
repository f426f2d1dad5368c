"""Where the quantities of a job are from: each a line that can be done again with a pencil.

    quantity = product of the factors / divisor,  rounded up where only whole ones are used
    total    = sum of the lines it names

so canopy = infested area x cover; stems that were not counted = canopy x density; diameter = stems x the diameter that
stands for their class; debris = canopy x volume per m2; mix = area x carrier / 10,000 or diameter x dose / 1,000; loads
= mix / tank; product = mix x its part; bags = debris x share / bag; fuel and blades = hours of the people sent x rate.
"""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from estimating.columns import BoolArray, FloatArray
from estimating.consumables import BLADES, FUEL
from estimating.ground import BY_STEMS, STEM_DRIVERS
from estimating.inputs import GROWTH_FORMS, STEM_CLASSES
from estimating.materials import STEM_DIAMETER_CM
from estimating.opened import OpenedJobs
from estimating.rate_book import RateBook
from estimating.units import SQUARE_METRES_PER_HECTARE

MILLILITRES_PER_LITRE = 1_000.0

Plain = dict[str, Any]


def _factor(name: str, value: float, unit: str, source: str = "", rate_row: int = 0) -> Plain:
    """One figure of a product; `rate_row` is its row of the rate book, 0 where it is not from there."""
    return {"name": name, "value": value, "unit": unit, "source": source, "rate_row": rate_row}


def _of_book(book: RateBook, name: str, method: str, form: str = "") -> Plain | None:
    row = book.find("allowance", name, method, form)
    return None if row is None else _factor(name, row.value, row.unit, row.source, row.number)


def _line(
    what: str,
    component: str,
    factors: list[Plain],
    value: float,
    unit: str,
    divisor: float = 1.0,
    *,
    rounded_up: bool = False,
    sum_of: str = "",
) -> Plain:
    """One quantity; `component` is empty for the whole job. A total has no factors and names the lines it sums."""
    return {
        "what": what,
        "component": component,
        "factors": factors,
        "value": value,
        "unit": unit,
        "divisor": divisor,
        "rounded_up": rounded_up,
        "sum_of": sum_of,
    }


def _product(what: str, component: str, factors: list[Plain], unit: str, divisor: float = 1.0) -> Plain:
    value = 1 / divisor
    for factor in factors:
        value *= factor["value"]
    return _line(what, component, factors, value, unit, divisor)


class _Form:
    """What the components of one growth form share: figures of the rate book, by stem class and for debris."""

    def __init__(self, book: RateBook, method: str, form: str) -> None:
        self.name = form
        self.densities = [_of_book(book, f"{driver}_per_m2", "", form) for driver in STEM_DRIVERS]
        self.debris = _of_book(book, "debris_m3_per_m2", method, form)


class _Components:
    """The lines of the components that a method treats; lists are by pair, `carrier`, `dose` and `by_canopy` by job."""

    def __init__(self, opened: OpenedJobs) -> None:
        ground, book, count = opened.ground, opened.ground.book, len(opened)
        facts = ground.components
        self.by_stems = any(step.driver in BY_STEMS for step in book.method_steps(opened.method))
        self.treats = book.treats(opened.method)[facts.growth_form].tolist()
        forms = [_Form(book, opened.method, form) for form in GROWTH_FORMS]
        self.forms = [forms[form] for form in facts.growth_form.tolist()]
        self.species = facts.species
        self.infested_m2, self.canopy_m2 = facts.infested_area_m2.tolist(), ground.canopy_m2.tolist()
        self.cover, self.stems, self.stem_cm = ground.cover.tolist(), ground.stems.tolist(), ground.stem_cm.tolist()
        self.counted = (~(np.isnan(facts.stems) | ground.late[:, None])).tolist()
        self.carrier = _by_job(opened.mix.carrier_l_per_ha, count)
        self.dose = _by_job(opened.mix.stem_dose_ml_per_cm, count)
        self.by_canopy = _by_job(opened.mix.by_canopy, count)

    def lines(self, job: int, pair: int) -> Iterator[Plain]:
        """Canopy first, then what follows from it."""
        form, dose = self.forms[pair], 0.0 if self.carrier[job] else self.dose[job]
        name, canopy_m2 = f"{self.species[pair]}, {form.name}", self.canopy_m2[pair]
        cover = _factor("cover", self.cover[pair], "")
        yield _product("canopy", name, [_factor("infested area", self.infested_m2[pair], "m2"), cover], "m2")
        if self.by_stems or dose:
            yield from self._stems(pair, form, name)
        if form.debris:
            yield _product("debris", name, [_factor("canopy", canopy_m2, "m2"), dict(form.debris)], "m3")
        if dose:
            diameter = _factor("stem diameters in all", self.stem_cm[pair], "cm")
            yield _product("mix", name, [diameter, _factor("dose", dose, "ml per cm")], "l", MILLILITRES_PER_LITRE)
        elif self.carrier[job]:
            basis = ("canopy", canopy_m2) if self.by_canopy[job] else ("infested area", self.infested_m2[pair])
            carrier = _factor("carrier", self.carrier[job], "l per ha")
            yield _product("mix", name, [_factor(*basis, "m2"), carrier], "l", SQUARE_METRES_PER_HECTARE)

    def _stems(self, pair: int, form: _Form, name: str) -> Iterator[Plain]:
        columns = zip(STEM_CLASSES, _CLASS_CM, form.densities, self.stems[pair], self.counted[pair], strict=True)
        for size, standing_cm, density, stems, counted in columns:
            if not counted and density:
                canopy = _factor("canopy", self.canopy_m2[pair], "m2")
                yield _product(f"{size} stems, not counted", name, [canopy, dict(density)], "stems")
            standing = _factor(f"diameter of {size} stems", standing_cm, "cm")
            count = _factor(f"{size} stems", stems, "stems")
            yield _product(f"diameter of {size} stems in all", name, [count, standing], "cm")


_CLASS_CM: list[float] = STEM_DIAMETER_CM.tolist()


def _by_job(figure: float | FloatArray | BoolArray, count: int) -> list[float]:
    """A figure that all jobs share, or one for each, as a list by job."""
    found: list[float] = np.broadcast_to(np.asarray(figure, np.float64), count).tolist()
    return found


class _Jobs:
    """The lines of what goes by the whole job; lists are by job."""

    def __init__(self, opened: OpenedJobs) -> None:
        book, method, used = opened.ground.book, opened.method, opened.materials
        self.volume_l, self.loads = used.spray_volume_l.tolist(), used.tank_loads.tolist()
        self.debris_m3, self.bags = used.debris_m3.tolist(), used.bags.tolist()
        self.people_hours = (opened.time.field_person_hours / opened.time.people).tolist()
        self.tank_l = _by_job(opened.mix.tank_l, len(opened))
        mixes = [[(part.product, mix.fraction(part)) for part in mix.parts] for mix in opened.result.inputs.mixes]
        self.parts: list[Sequence[tuple[str, float]]] = [mixes[mix] if mix >= 0 else () for mix in opened.mix_index]
        self.share_bagged = _of_book(book, "bagged_share", method)
        self.bag_m3 = book.allowance("bag_m3", missing=0.0)
        by_hours = ((FUEL, "fuel", "l"), (BLADES, "blades", ""))
        self.by_hours = [(_of_book(book, name, method), what, unit) for name, what, unit in by_hours]

    def lines(self, job: int) -> Iterator[Plain]:
        """Mix, debris, and what machines use up."""
        if self.volume_l[job]:
            yield from self._mix(job, self.volume_l[job])
        if self.debris_m3[job]:
            yield from self._debris(job, self.debris_m3[job])
        hours = self.people_hours[job]
        for used, what, unit in self.by_hours:
            if used:
                factors = [_factor("hours of the people sent", hours, "h"), dict(used)]
                yield _line(what, "", factors, hours * used["value"], unit)

    def _mix(self, job: int, volume_l: float) -> Iterator[Plain]:
        yield _line("mix in all", "", [], volume_l, "l", sum_of="mix")
        volume, tank_l = [_factor("mix", volume_l, "l")], self.tank_l[job]
        yield _line("tank loads", "", volume, self.loads[job], "loads", tank_l, rounded_up=True)
        for product, share in self.parts[job]:
            factors = [_factor("mix", volume_l, "l"), _factor("part of the mix", share, "")]
            yield _line(product, "", factors, volume_l * share, "l")

    def _debris(self, job: int, debris_m3: float) -> Iterator[Plain]:
        yield _line("debris in all", "", [], debris_m3, "m3", sum_of="debris")
        if self.share_bagged:
            factors = [_factor("debris", debris_m3, "m3"), dict(self.share_bagged)]
            yield _line("bags", "", factors, self.bags[job], "", self.bag_m3, rounded_up=True)


def quantities_of_jobs(opened: OpenedJobs) -> list[list[Plain]]:
    """All lines of each job as plain values: by component, then for the job; none where the job has no figures.

    Components of forms that the method does not treat have no lines.
    """
    components, jobs = _Components(opened), _Jobs(opened)
    found: list[list[Plain]] = []
    for job, (ok, (first, end)) in enumerate(zip(opened.ok, opened.spans(), strict=True)):
        lines: list[Plain] = []
        if ok:
            for pair in range(first, end):
                if components.treats[pair]:
                    lines.extend(components.lines(job, pair))
            lines.extend(jobs.lines(job))
        found.append(lines)
    return found
