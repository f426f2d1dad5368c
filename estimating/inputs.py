"""The facts an estimate starts from: patches, components, jobs, the crew's day and the prices.

Tables hold one array a column (see `columns.py`), validated once here and never again further down. Units are in the
names: areas m2, lengths m, slopes degrees, cover as a fraction 0..1, times minutes or hours as named, money as integers
of 1/10,000 dollar (`_e4`).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from estimating.columns import (
    BoolArray,
    FloatArray,
    IntArray,
    Known,
    SmallArray,
    Table,
    answers,
    column,
    refuse_rows,
)
from estimating.errors import InvalidFact, UnknownCode

GROWTH_FORMS = ("ground cover", "climbing", "sprawling", "shrub", "herb")
GROUND_COVER, CLIMBING, SPRAWLING, SHRUB, HERB = range(5)

# How easily a crew moves and works on the ground; where nobody looked, it counts as even.
GROUND_KINDS = ("even", "rough", "obstructed", "unknown")
EVEN, ROUGH, OBSTRUCTED, GROUND_UNKNOWN = range(4)

WORKLOADS = ("light", "moderate", "heavy")

# Stem diameter classes: name, and the diameter that stands for the class in dose and volume (m).
STEM_CLASSES = ("small", "medium", "large")
STEM_CLASS_LIMITS_M = (0.025, 0.075)
STEM_CLASS_DIAMETER_M = (0.0125, 0.05, 0.10)

# A pace above this is a slip of the keyboard, not a fast crew.
HIGHEST_PACE = 3.0

# A component may be mapped a little outside the patch's outline; beyond this it is an error of the survey.
INFESTED_AREA_TOLERANCE = 0.01


@dataclass(frozen=True, kw_only=True)
class PatchFacts(Table):
    """One row a patch. Drive is one way from the yard to the site's gate, walk-in one way from the gate to the patch.

    `walk_in_minutes` wins where it is given; otherwise the time comes from `walk_in_distance_m` and
    `walk_in_slope_deg` (uphill positive) by Tobler's function, off path. `distance_to_water_m` NaN: not known.
    `repeat_year` 1 is the first treatment; from 3 on the effort no longer follows the cover. `ground` is the index of
    one of GROUND_KINDS.
    """

    gross_area_m2: FloatArray = column(above=0)
    area_mapped: BoolArray = column(np.bool_, default=True)  # outline walked or digitized; False: area judged by eye
    slope_deg: FloatArray = column(low=0, high=75, default=0)
    ground: SmallArray = column(np.int8, low=0, high=len(GROUND_KINDS) - 1, default=GROUND_UNKNOWN)
    wet_ground: SmallArray = answers(default=Known.UNKNOWN)
    distance_to_water_m: FloatArray = column(low=0, allow_nan=True, default=np.nan)
    desirable_tree_roots: SmallArray = answers(default=Known.UNKNOWN)
    evergreen_natives: SmallArray = answers(default=Known.UNKNOWN)
    spring_ephemerals: SmallArray = answers(default=Known.UNKNOWN)
    repeat_year: IntArray = column(np.int64, low=1, default=1)
    target_cover: FloatArray = column(low=0, high=1, default=0.05)
    walk_in_minutes: FloatArray = column(low=0, allow_nan=True, default=np.nan)
    walk_in_distance_m: FloatArray = column(low=0, default=0)
    walk_in_slope_deg: FloatArray = column(low=-60, high=60, default=0)
    drive_minutes: FloatArray = column(low=0, default=0)
    drive_km: FloatArray = column(low=0, default=0)


@dataclass(frozen=True, kw_only=True)
class ComponentFacts(Table):
    """One row a component: one species in one growth form on one patch.

    `cover_*` are fractions of the infested area under the plant's leaves. Where the survey gave a class,
    `cover_from_class` is True and low and high are the class's limits; where it gave a percent, they are the observer's
    range, or equal to the likely value. `stems` counts by diameter class; NaN: not counted. `cut_height_m` is where the
    upper of the two cuts parts a climbing vine; NaN: at the rate book's usual height. `reroots`: pulled or cut stems
    left on the ground root again.
    """

    species: tuple[str, ...]
    patch_index: IntArray = column(np.int64, low=0)
    growth_form: SmallArray = column(np.int8, low=0, high=len(GROWTH_FORMS) - 1)
    infested_area_m2: FloatArray = column(low=0)
    cover_low: FloatArray = column(low=0, high=1)
    cover_likely: FloatArray = column(low=0, high=1)
    cover_high: FloatArray = column(low=0, high=1)
    cover_from_class: BoolArray = column(np.bool_, default=False)
    stems: FloatArray = column(low=0, allow_nan=True, default=np.nan, width=len(STEM_CLASSES))
    height_m: FloatArray = column(low=0, high=60, default=0)
    fertile: SmallArray = answers(default=Known.UNKNOWN)
    evergreen: SmallArray = answers(default=Known.UNKNOWN)
    resprouts: SmallArray = answers(default=Known.UNKNOWN)
    reroots: SmallArray = answers(default=Known.UNKNOWN)
    cut_height_m: FloatArray = column(low=0.3, high=6, allow_nan=True, default=np.nan)

    def check(self) -> None:
        object.__setattr__(self, "species", tuple(self.species))
        if len(self.species) != len(self.ids):
            raise InvalidFact(f"has {len(self.species)} values, but the table has {len(self.ids)} rows", "species")
        refuse_rows("cover_low", self.cover_low > self.cover_likely, "must not be above the likely cover")
        refuse_rows("cover_high", self.cover_high < self.cover_likely, "must not be below the likely cover")

    def check_against(self, patches: PatchFacts) -> None:
        """Rules between the two tables: the patch exists, and holds the component's infested area."""
        refuse_rows("patch_index", self.patch_index >= len(patches), "names no patch")
        limit_m2 = patches.gross_area_m2[self.patch_index] * (1 + INFESTED_AREA_TOLERANCE)
        refuse_rows("infested_area_m2", self.infested_area_m2 > limit_m2, "is larger than the patch's gross area")


@dataclass(frozen=True, kw_only=True)
class Jobs(Table):
    """One row a job: one patch treated by one method; `pair_*` list which components each job treats.

    Jobs of one patch with the same `outing` are done in one go: what is paid once a patch (search, walking the whole
    gross area) is counted in the first of them only. `search_area_m2` is the ground searched for this job alone, for
    outings whose patches overlap; NaN: the whole gross area for the first job of an outing, nothing for the others.
    `mix` is the row of the mixes given to the estimate, -1 for none.
    """

    methods: tuple[str, ...]
    patch_index: IntArray = column(np.int64, low=0)
    method_index: IntArray = column(np.int64, low=0)
    outing: IntArray = column(np.int64, low=-1, default=-1)
    mix: IntArray = column(np.int64, low=-1, default=-1)
    search_area_m2: FloatArray = column(low=0, allow_nan=True, default=np.nan)
    pair_job: IntArray = field(default_factory=lambda: np.zeros(0, np.int64))
    pair_component: IntArray = field(default_factory=lambda: np.zeros(0, np.int64))

    def check(self) -> None:
        refuse_rows("method_index", self.method_index >= len(self.methods), "names no method")
        for name in ("pair_job", "pair_component"):
            pairs = np.array(getattr(self, name), np.int64)
            pairs.setflags(write=False)
            object.__setattr__(self, name, pairs)
        if self.pair_job.shape != self.pair_component.shape:
            raise InvalidFact("must have as many values as pair_component", "pair_job")
        refuse_rows("pair_job", (self.pair_job < 0) | (self.pair_job >= len(self)), "names no job")

    def check_against(self, patches: PatchFacts, components: ComponentFacts) -> None:
        """Each job treats components of its own patch."""
        refuse_rows("patch_index", self.patch_index >= len(patches), "names no patch")
        limit_m2 = patches.gross_area_m2[self.patch_index] * (1 + INFESTED_AREA_TOLERANCE)
        refuse_rows("search_area_m2", self.search_area_m2 > limit_m2, "is larger than the patch's gross area")
        refuse_rows("pair_component", self.pair_component >= len(components), "names no component")
        apart = components.patch_index[self.pair_component] != self.patch_index[self.pair_job]
        refuse_rows("pair_component", apart, "is on another patch than its job")


@dataclass(frozen=True, kw_only=True)
class CrewDay:
    """What a paid day of a crew is made of; hours and minutes a day, the same for every person of the crew.

    `allowance_basis` says what the personal and fatigue allowance is a share of: "job" (work time is stretched by
    1 + allowance) or "shift" (the productive time of the day shrinks by 1 - allowance); the two differ.
    `work_minutes_per_hour` is the work part of a work/rest hour, 60 in ordinary weather; with `air_temperature_f` the
    heat table for the `workload` holds too, and the shorter of the two counts.
    `people` counts the crew by role; their standard rates are in `Prices`. `pace` is the work of a person of a role in
    an hour as a share of a trained worker's (1 where it is not named).
    `new_workers` and `returning_workers` are those who are not used to heat yet, on day `day_in_heat` of it.
    """

    people: Mapping[str, int]
    shift_hours: float = 8.0
    briefing_minutes: float = 15.0
    setup_minutes: float = 20.0
    cleanup_minutes: float = 20.0
    break_minutes: float = 30.0
    allowance: float = 0.10
    allowance_basis: str = "shift"
    work_minutes_per_hour: float = 60.0
    drive_paid: bool = True
    pace: Mapping[str, float] = field(default_factory=dict)
    new_workers: int = 0
    returning_workers: int = 0
    day_in_heat: int = 1
    air_temperature_f: float | None = None
    workload: str = "moderate"

    def __post_init__(self) -> None:
        if self.size < 1 or min(self.people.values()) < 0:
            raise InvalidFact("a crew has at least one person", "people")
        if not 0 < self.shift_hours <= 24:
            raise InvalidFact("must be above 0 and at most 24", "shift_hours")
        if min(self.briefing_minutes, self.setup_minutes, self.cleanup_minutes, self.break_minutes) < 0:
            raise InvalidFact("minutes of a day must not be negative", "briefing_minutes")
        if self.allowance_basis not in ("job", "shift"):
            raise UnknownCode("must be 'job' or 'shift'", "allowance_basis")
        if not 0 <= self.allowance < 1:
            raise InvalidFact("must be from 0 to below 1", "allowance")
        if not 0 < self.work_minutes_per_hour <= 60:
            raise InvalidFact("must be above 0 and at most 60", "work_minutes_per_hour")
        self._check_people()

    def _check_people(self) -> None:
        if any(not 0 < share <= HIGHEST_PACE for share in self.pace.values()):
            raise InvalidFact(f"must be above 0 and at most {HIGHEST_PACE:g}", "pace")
        if min(self.new_workers, self.returning_workers) < 0 or self.new_workers + self.returning_workers > self.size:
            raise InvalidFact("must be some of the crew", "new_workers")
        if self.day_in_heat < 1:
            raise InvalidFact("counts from 1", "day_in_heat")
        if self.air_temperature_f is not None and not math.isfinite(self.air_temperature_f):
            raise InvalidFact("must be a number", "air_temperature_f")
        if self.workload not in WORKLOADS:
            raise UnknownCode(f"must be one of {', '.join(WORKLOADS)}", "workload")

    @property
    def size(self) -> int:
        """People in the crew."""
        return sum(self.people.values())


PRICE_MAPPINGS = (
    "role_rate_e4_per_hour",
    "product_e4_per_l",
    "equipment_e4_per_hour",
    "contract_e4_per_ha",
    "contract_minimum_e4",
)
SINGLE_PRICES = ("mileage_e4_per_mile", "bag_e4", "fuel_e4_per_l", "blade_e4")


def _check_price(name: str, code: str, amount: object) -> None:
    if isinstance(amount, bool) or not isinstance(amount, int) or amount < 0:
        raise InvalidFact(f"{code}: must be a whole number of 1/10,000 dollar, 0 or more", name)


@dataclass(frozen=True, kw_only=True)
class Prices:
    """Standard prices; integers of 1/10,000 dollar.

    `role_rate_e4_per_hour` standard fully burdened rate by role; `skill_role` which role does the work of a skill;
    `product_e4_per_l` by product code (adjuvants, dyes and oils are products too);
    `product_source` says where a product's price comes from (stock or price list);
    `equipment_e4_per_hour` by method, while the work of that method runs; `bag_e4` one debris bag; `fuel_e4_per_l` saw
    and machine fuel; `blade_e4` one blade or chain worn out; `contract_e4_per_ha` and `contract_minimum_e4` what a
    contractor asks, by method, for a hectare of treated ground and for the least job.
    """

    role_rate_e4_per_hour: Mapping[str, int]
    skill_role: Mapping[str, str]
    product_e4_per_l: Mapping[str, int] = field(default_factory=dict)
    equipment_e4_per_hour: Mapping[str, int] = field(default_factory=dict)
    mileage_e4_per_mile: int = 0
    bag_e4: int = 0
    product_source: Mapping[str, str] = field(default_factory=dict)
    fuel_e4_per_l: int = 0
    blade_e4: int = 0
    contract_e4_per_ha: Mapping[str, int] = field(default_factory=dict)
    contract_minimum_e4: Mapping[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name in PRICE_MAPPINGS:
            for code, amount in getattr(self, name).items():
                _check_price(name, code, amount)
        for name in SINGLE_PRICES:
            _check_price(name, name.partition("_e4")[0], getattr(self, name))
        for skill, role in self.skill_role.items():
            if role not in self.role_rate_e4_per_hour:
                raise UnknownCode(f"skill {skill!r} needs a rate for role {role!r}", "skill_role")

    def skill_rate_e4(self, skill: str) -> int:
        """Standard rate of the role that does work of this skill."""
        if skill not in self.skill_role:
            raise UnknownCode(f"no role does work of skill {skill!r}", "skill_role")
        return self.role_rate_e4(self.skill_role[skill])

    def role_rate_e4(self, role: str) -> int:
        """Standard rate of a role."""
        if role not in self.role_rate_e4_per_hour:
            raise UnknownCode(f"no standard rate for role {role!r}", "role_rate_e4_per_hour")
        return self.role_rate_e4_per_hour[role]

    def product_price_e4(self, product: str) -> int:
        """Price of a litre of a product; a product without a price is an error, never free."""
        if product not in self.product_e4_per_l:
            raise UnknownCode(f"no price for product {product!r}", "product_e4_per_l")
        return self.product_e4_per_l[product]


def pair_all(patches: PatchFacts, components: ComponentFacts, methods: Sequence[str]) -> Jobs:
    """Jobs that treat all components of each patch by each of the methods, as alternatives to compare."""
    n, m = len(patches), len(methods)
    k = len(components)
    shift = np.repeat(np.arange(m) * n, k)
    return Jobs(
        ids=tuple(f"{patch}/{method}" for method in methods for patch in patches.ids),
        methods=tuple(methods),
        patch_index=np.tile(np.arange(n), m),
        method_index=np.repeat(np.arange(m), n),
        pair_job=np.tile(components.patch_index, m) + shift,
        pair_component=np.tile(np.arange(k), m),
    )
