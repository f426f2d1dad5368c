"""The facts of patches and components as the effort formulas need them, each computed once and kept.

From the third year of treatment on, effort no longer follows the first survey: cover becomes the rate book's
maintenance cover, and stems are what that cover holds. (Person-hours were related to the first invasion level in years
1 and 2 only: Dryad dataset doi:10.5061/dryad.rbnzs7hpb, 2025.)
"""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from estimating.columns import BoolArray, FloatArray, Known
from estimating.inputs import CLIMBING, GROUND_UNKNOWN, STEM_CLASSES, ComponentFacts, PatchFacts
from estimating.materials import stem_diameter_cm
from estimating.rate_book import Bands, RateBook, Step

MAINTENANCE_FROM_YEAR = 3

# Low and high of an observer's range are taken as its 10% and 90% points, 2 x 1.2816 standard deviations apart.
OBSERVER_RANGE_SD = 2.563103
# A class says only "within these limits": the standard deviation of an even spread over them is width / sqrt(12).
CLASS_WIDTH_SD = 12**0.5

STEM_DRIVERS = tuple(f"stems_{name}" for name in STEM_CLASSES)
# Drivers whose quantity is made of stems, and so shares the error of their count.
BY_STEMS = (*STEM_DRIVERS, "stem_diameter_cm", "upper_cuts")


@dataclass(eq=False)
class Ground:
    """Patches and components read through a rate book. Arrays [component] unless said."""

    patches: PatchFacts
    components: ComponentFacts
    book: RateBook
    _powers: dict[float, FloatArray] = field(default_factory=dict)
    _terms: dict[tuple[float, ...], FloatArray] = field(default_factory=dict)
    _factors: dict[tuple[Bands, ...], FloatArray] = field(default_factory=dict)
    _patch_factors: dict[tuple[Bands, ...], FloatArray] = field(default_factory=dict)
    _debris: dict[tuple[float, ...], FloatArray] = field(default_factory=dict)

    @cached_property
    def late(self) -> BoolArray:
        """Whether the component is past the years in which effort follows the first cover."""
        years = self.patches.repeat_year[self.components.patch_index]
        return np.asarray(years >= MAINTENANCE_FROM_YEAR)

    @cached_property
    def cover(self) -> FloatArray:
        """Cover that effort goes by, fraction."""
        return np.where(self.late, self.book.allowance("maintenance_cover"), self.components.cover_likely)

    @cached_property
    def canopy_m2(self) -> FloatArray:
        """Infested area x cover."""
        return self.components.infested_area_m2 * self.cover

    @cached_property
    def stems_assumed(self) -> BoolArray:
        """Whether stems come from the canopy area and the rate book's density, for want of a count."""
        return np.isnan(self.components.stems).any(axis=1) | self.late

    @cached_property
    def stems(self) -> FloatArray:
        """Stems by diameter class [component, class]; a class that was not counted counts as the density says."""
        density = np.stack([self.book.form_allowance(f"{name}_per_m2", missing=0.0) for name in STEM_DRIVERS], axis=1)
        assumed = density[self.components.growth_form] * self.canopy_m2[:, None]
        counted = ~(np.isnan(self.components.stems) | self.late[:, None])
        return np.where(counted, self.components.stems, assumed)

    @cached_property
    def stem_cm(self) -> FloatArray:
        """Sum of stem diameters, cm."""
        return stem_diameter_cm(self.stems)

    @cached_property
    def cut_height_m(self) -> FloatArray:
        """Height of the upper cut of climbing vines: observed, else the rate book's; NaN for what does not climb."""
        usual = self.book.allowance("upper_cut_height_m", missing=np.nan)
        height = np.where(np.isnan(self.components.cut_height_m), usual, self.components.cut_height_m)
        return np.where(self.components.growth_form == CLIMBING, height, np.nan)

    @cached_property
    def upper_cuts(self) -> FloatArray:
        """Stems that are cut a second time: those of climbing vines, unless the vine is known to end below that cut.

        Where no height of the vine was noted (0), it counts as reaching above.
        """
        ends_below = (self.components.height_m > 0) & (self.components.height_m <= self.cut_height_m)
        climbs = self.components.growth_form == CLIMBING
        return np.where(climbs & ~ends_below, self.stems.sum(axis=1), 0.0)

    @cached_property
    def may_root(self) -> BoolArray:
        """Whether stems left on the ground root again; not known counts as yes."""
        return np.asarray(self.components.reroots != Known.NO)

    def debris_m3(self, method: str) -> FloatArray:
        """Loose volume of what a method cuts or pulls: canopy area x the form's volume per m2."""
        per_m2 = self.book.form_allowance("debris_m3_per_m2", method, missing=0.0)
        key = tuple(per_m2.tolist())
        if key not in self._debris:
            self._debris[key] = self.canopy_m2 * per_m2[self.components.growth_form]
        return self._debris[key]

    @cached_property
    def cover_sd(self) -> FloatArray:
        """Log standard deviation of the cover: its own range, and the observer's or the class's error."""
        facts = self.components
        width = facts.cover_high - facts.cover_low
        scale = np.where(facts.cover_from_class, CLASS_WIDTH_SD, OBSERVER_RANGE_SD)
        likely = np.where(facts.cover_likely > 0, facts.cover_likely, 1.0)
        share = np.where(self.late, 0.0, width / scale / likely)
        error = np.where(
            facts.cover_from_class | self.late, self.book.spread("cover_class"), self.book.spread("cover_measured")
        )
        return np.asarray(np.sqrt(np.log1p(share**2) + error**2))

    @cached_property
    def patch_area_sd(self) -> FloatArray:
        """Log standard deviation of the areas of a patch, [patch]."""
        return np.where(self.patches.area_mapped, self.book.spread("area_mapped"), self.book.spread("area_by_eye"))

    @cached_property
    def area_sd(self) -> FloatArray:
        """Log standard deviation of the infested area."""
        return self.patch_area_sd[self.components.patch_index]

    @cached_property
    def stems_sd(self) -> FloatArray:
        """Log standard deviation of the stems alone: of the count, or of the density that stands in for it.

        Where the density stands in, the errors of cover and area come on top (see `effort.py`).
        """
        return np.where(self.stems_assumed, self.book.spread("stems_assumed"), self.book.spread("stems_counted"))

    def quantity(self, driver: str, method: str) -> FloatArray:
        """Quantity of a driver that lives with the component (spray volume depends on the mix and is not here)."""
        if driver in STEM_DRIVERS:
            return self.stems[:, STEM_DRIVERS.index(driver)]
        if driver == "debris_m3":
            return self.debris_m3(method)
        if driver == "rooting_debris_m3":
            return np.where(self.may_root, self.debris_m3(method), 0.0)
        if driver == "stem_diameter_cm":
            return self.stem_cm
        return self.upper_cuts if driver == "upper_cuts" else self.components.infested_area_m2

    def cover_power(self, exponent: float) -> FloatArray:
        """cover ^ exponent."""
        if exponent not in self._powers:
            self._powers[exponent] = np.ones(len(self.cover)) if exponent == 0 else self.cover**exponent
        return self._powers[exponent]

    def cover_term(self, step: Step) -> FloatArray:
        """cover ^ b, with the step's b of each growth form."""
        key = tuple(step.cover_exponent.tolist())
        if key not in self._terms:
            term = self.cover_power(key[0])
            for form, exponent in enumerate(key):
                if exponent != key[0]:
                    term = np.where(self.components.growth_form == form, self.cover_power(exponent), term)
            self._terms[key] = term
        return self._terms[key]

    def measured(self, driver: str) -> FloatArray:
        """What a patch factor's bands go by, [patch]; "yes" counts as 1, "no" as 0, and unknown as 0 too."""
        values = getattr(self.patches, driver)
        if driver in ("wet_ground", "evergreen_natives"):
            values = values == Known.YES
        if driver == "ground":
            values = np.where(values == GROUND_UNKNOWN, 0, values)
        return np.asarray(values, dtype=np.float64)

    def component_measured(self, driver: str) -> FloatArray:
        """What a component factor's bands go by, [component]."""
        return self.cut_height_m if driver == "cut_height_m" else self.components.height_m

    def patch_factor(self, factors: tuple[Bands, ...]) -> FloatArray:
        """Product of a step's patch factors, [patch]."""
        if factors not in self._patch_factors:
            product = np.ones(len(self.patches))
            for bands in factors:
                product = product * bands.at(self.measured(bands.driver))
            self._patch_factors[factors] = product
        return self._patch_factors[factors]

    def factor(self, step: Step) -> FloatArray:
        """Product of all of a step's factors."""
        if step.factors not in self._factors:
            product = self.patch_factor(step.patch_factors)[self.components.patch_index]
            for bands in step.component_factors:
                product = product * bands.at(self.component_measured(bands.driver))
            self._factors[step.factors] = product
        return self._factors[step.factors]
