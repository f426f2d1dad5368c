"""The facts of patches and components as the effort formulas need them, each computed once and kept.

From the third year of treatment on, effort no longer follows the first survey: cover becomes the rate book's
maintenance cover, and stems are what that cover holds. (Person-hours were related to the first invasion level in years
1 and 2 only: Dryad dataset doi:10.5061/dryad.rbnzs7hpb, 2025.)
"""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from estimating.columns import BoolArray, FloatArray, Known
from estimating.inputs import STEM_CLASSES, ComponentFacts, PatchFacts
from estimating.materials import stem_diameter_cm
from estimating.rate_book import Bands, RateBook, Step

MAINTENANCE_FROM_YEAR = 3

# Low and high of an observer's range are taken as its 10 % and 90 % points, 2 x 1.2816 standard deviations apart.
OBSERVER_RANGE_SD = 2.563103
# A class says only "within these limits": the standard deviation of an even spread over them is width / sqrt(12).
CLASS_WIDTH_SD = 12**0.5

STEM_DRIVERS = tuple(f"stems_{name}" for name in STEM_CLASSES)


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
    _survey: dict[str, FloatArray] = field(default_factory=dict)

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
    def debris_m3(self) -> FloatArray:
        """Loose volume of what is cut or pulled: canopy area x the form's volume per m2."""
        per_m2 = self.book.form_allowance("debris_m3_per_m2", missing=0.0)
        return np.asarray(self.canopy_m2 * per_m2[self.components.growth_form])

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
    def area_sd(self) -> FloatArray:
        """Log standard deviation of the infested area."""
        mapped = self.patches.area_mapped[self.components.patch_index]
        return np.where(mapped, self.book.spread("area_mapped"), self.book.spread("area_by_eye"))

    @cached_property
    def canopy_sd(self) -> FloatArray:
        """Log standard deviation of the canopy area."""
        return np.hypot(self.cover_sd, self.area_sd)

    @cached_property
    def stems_sd(self) -> FloatArray:
        """Log standard deviation of the stems: of the count, or of the canopy and the density that stand in for it."""
        assumed = np.hypot(self.canopy_sd, self.book.spread("stems_assumed"))
        return np.where(self.stems_assumed, assumed, self.book.spread("stems_counted"))

    def quantity(self, driver: str) -> FloatArray:
        """Quantity of a driver that lives with the component (spray volume depends on the mix and is not here)."""
        if driver == "infested_area_m2":
            return self.components.infested_area_m2
        if driver == "debris_m3":
            return self.debris_m3
        return self.stems[:, STEM_DRIVERS.index(driver)]

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
        """What a factor's bands go by, [patch]; "yes" counts as 1, "no" and "unknown" as 0."""
        values = getattr(self.patches, driver)
        if driver in ("wet_ground", "evergreen_natives"):
            values = values == Known.YES
        return np.asarray(values, dtype=np.float64)

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
                product = product * bands.at(self.components.height_m)
            self._factors[step.factors] = product
        return self._factors[step.factors]

    def survey_sd(self, step: Step) -> FloatArray:
        """Log standard deviation that the survey's own errors give to the step's hours."""
        if step.driver in STEM_DRIVERS:
            return self.stems_sd
        if step.driver == "infested_area_m2":
            key = tuple(step.cover_exponent.tolist())
            name = f"area {key}"
            if name not in self._survey:
                self._survey[name] = np.hypot(
                    step.cover_exponent[self.components.growth_form] * self.cover_sd, self.area_sd
                )
            return self._survey[name]
        return self.canopy_sd
