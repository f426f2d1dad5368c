"""A large invented program for the benchmarks: the same figures for the same number of patches, every time."""

from dataclasses import dataclass

import numpy as np

from estimating.cover_classes import SCHEMES, cover_range
from estimating.estimate import estimate
from estimating.inputs import (
    GROWTH_FORMS,
    STEM_CLASSES,
    ComponentFacts,
    CrewDay,
    Jobs,
    PatchFacts,
    Prices,
    pair_all,
)
from estimating.materials import Mix, MixPart
from estimating.rate_book import RateBook
from tests.estimating import make

SEED = 2027
METHODS = ("hand-pull", "cut", "cut-stem", "girdle", "dormant-foliar", "spot-foliar", "basal-bark", "mow-mulch")
SCHEME = "daubenmire-1959"
FORM_SHARES = (0.35, 0.2, 0.15, 0.2, 0.1)
COMPONENT_SHARES = (0.45, 0.4, 0.15)
REPEAT_SHARES = (0.7, 0.15, 0.1, 0.05)
ANSWERS = 3

MIXES = (
    Mix(
        code="stumps",
        parts=(MixPart(product="blue label", percent_vv=25), MixPart(product="dye", role="dye", percent_vv=0.5)),
        tank_l=1,
        stem_dose_ml_per_cm=1.0,
    ),
    Mix(
        code="leaves",
        parts=(
            MixPart(product="blue label", percent_vv=3),
            MixPart(product="spreader", role="adjuvant", percent_vv=0.5),
        ),
        tank_l=15,
        carrier_l_per_ha=280,
    ),
    Mix(
        code="spots",
        parts=(
            MixPart(product="blue label", percent_vv=2),
            MixPart(product="spreader", role="adjuvant", percent_vv=0.5),
        ),
        tank_l=15,
        carrier_l_per_ha=470,
        area_basis="canopy",
    ),
    Mix(
        code="bark",
        parts=(MixPart(product="green label", percent_vv=20), MixPart(product="bark oil", role="oil", percent_vv=80)),
        tank_l=12,
        stem_dose_ml_per_cm=6,
    ),
)
MIX_OF_METHOD = {"cut-stem": 0, "dormant-foliar": 1, "spot-foliar": 2, "basal-bark": 3}


@dataclass(frozen=True)
class Case:
    """All that an estimate is made from."""

    patches: PatchFacts
    components: ComponentFacts
    jobs: Jobs
    book: RateBook
    crew_day: CrewDay
    prices: Prices
    mixes: tuple[Mix, ...] = MIXES

    def estimate(self):
        """What the program makes of it."""
        return estimate(self.patches, self.components, self.jobs, self.book, self.crew_day, self.prices, self.mixes)


def case(count):
    """Patches of every kind, by all the methods."""
    random = np.random.default_rng([SEED, count])
    patches = _patches(random, count)
    components = _components(random, patches)
    book = make.book()
    jobs = pair_all(patches, components, METHODS)
    mix = np.array([MIX_OF_METHOD.get(method, -1) for method in METHODS])[jobs.method_index]
    jobs = Jobs(
        ids=jobs.ids,
        methods=METHODS,
        patch_index=jobs.patch_index,
        method_index=jobs.method_index,
        mix=mix,
        pair_job=jobs.pair_job,
        pair_component=jobs.pair_component,
    )
    day = book.crew_day({"crew lead": 1, "crew member": 3, "volunteer": 2}, pace={"volunteer": 0.6})
    return Case(patches, components, jobs, book, day, prices())


def _patches(random, count):
    unmeasured = random.random(count) < 0.3
    return PatchFacts(
        ids=tuple(f"P{number}" for number in range(count)),
        gross_area_m2=np.clip(random.lognormal(np.log(900), 1.15, count), 60, 24_000),
        area_mapped=random.random(count) < 0.8,
        slope_deg=np.minimum(random.gamma(2.0, 5.0, count), 45),
        ground=random.integers(0, 4, count),
        wet_ground=random.integers(0, ANSWERS, count),
        evergreen_natives=random.integers(0, ANSWERS, count),
        repeat_year=random.choice(4, count, p=REPEAT_SHARES) + 1,
        walk_in_minutes=np.where(unmeasured, np.nan, np.rint(random.uniform(1, 40, count))),
        walk_in_distance_m=np.where(unmeasured, random.uniform(50, 1500, count), 0.0),
        walk_in_slope_deg=random.uniform(-15, 15, count),
        drive_minutes=random.uniform(5, 75, count),
        drive_km=random.uniform(4, 95, count),
    )


def _components(random, patches):
    each = random.choice(len(COMPONENT_SHARES), len(patches), p=COMPONENT_SHARES) + 1
    at = np.repeat(np.arange(len(patches)), each)
    count = len(at)
    form = random.choice(len(GROWTH_FORMS), count, p=FORM_SHARES)
    infested_m2 = patches.gross_area_m2[at] * np.round(random.beta(2.6, 1.4, count) * 20).clip(1) / 20
    classed = random.random(count) < 0.3
    low, likely, high = _covers(random, classed)
    return ComponentFacts(
        ids=tuple(f"C{number}" for number in range(count)),
        species=("EUFO",) * count,
        patch_index=at,
        growth_form=form,
        infested_area_m2=infested_m2,
        cover_low=low,
        cover_likely=likely,
        cover_high=high,
        cover_from_class=classed,
        stems=_stems(random, form, infested_m2 * likely),
        height_m=random.choice([0.0, 0.3, 1.5, 4.0, 9.0, 16.0], count),
        reroots=random.integers(0, ANSWERS, count),
        cut_height_m=np.where(random.random(count) < 0.2, random.uniform(0.5, 3.0, count), np.nan),
    )


def _covers(random, classed):
    """By class its limits and middle; else a percent, which is its own range, or an observer's range around it."""
    ranges = np.array([cover_range(SCHEME, entry.code) for entry in SCHEMES[SCHEME]])
    drawn = ranges[random.integers(0, len(ranges), len(classed))]
    percent = np.round(random.beta(1.3, 1.7, len(classed)) * 100).clip(1, 99) / 100
    width = np.where(random.random(len(classed)) < 0.5, 0.0, 0.2)
    observed = np.stack([percent * (1 - width), percent, np.minimum(percent * (1 + width), 1.0)], axis=1)
    return np.where(classed[:, None], drawn, observed).T


def _stems(random, form, canopy_m2):
    """Counted on three fifths of what has stems, now and then without one of the classes."""
    expected = canopy_m2[:, None] * np.array([0.5, 0.2, 0.03])
    counts = random.poisson(expected).astype(float)
    without = (random.random(len(form)) < 0.4) | np.isin(form, (0, 4))
    counts[without] = np.nan
    counts[random.random(len(form)) < 0.05, len(STEM_CLASSES) - 1] = np.nan
    return counts


def prices():
    return make.prices(
        role_rate_e4_per_hour={
            "crew lead": 360_000,
            "crew member": 280_000,
            "certified applicator": 400_000,
            "volunteer": 0,
        },
        product_e4_per_l={
            "blue label": 250_000,
            "green label": 310_000,
            "spreader": 80_000,
            "dye": 120_000,
            "bark oil": 45_000,
        },
        equipment_e4_per_hour={"mow-mulch": 650_000, "cut": 40_000},
        fuel_e4_per_l=12_500,
        blade_e4=185_000,
        contract_e4_per_ha={"mow-mulch": 22_000_000, "spot-foliar": 9_000_000},
        contract_minimum_e4={"mow-mulch": 12_000_000},
    )
