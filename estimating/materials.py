"""Material: how much mix, product, adjuvant and dye a job takes, in which tank loads, and how each load is mixed.

    area mix    volume l = treated area ha x carrier l/ha
    stem mix    volume l = sum over classes (stems x diameter cm) x dose ml/cm / 1000
    product     percent by volume of the whole mix, or litres per treated hectare; exactly one of the two

The treated area is the infested area (broadcast) or the canopy area (spot work), as the mix says.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimating.columns import FloatArray
from estimating.errors import InvalidFact, UnknownCode
from estimating.inputs import STEM_CLASS_DIAMETER_M
from estimating.mix_order import (
    ENGLISH,
    FORMULATIONS,
    OIL,
    USUAL_FORMULATION,
    Carrier,
    Ingredient,
    Words,
    carrier_of,
    mixing_steps,
)
from estimating.units import MILLILITRES_PER_US_FLUID_OUNCE, SQUARE_METRES_PER_HECTARE

AREA_BASES = ("infested", "canopy")
PART_ROLES = ("herbicide", "adjuvant", "dye", "oil")

STEM_DIAMETER_CM = 100 * np.array(STEM_CLASS_DIAMETER_M)

# A load that is fuller than this share of a tank's remainder by rounding alone does not count as another load.
LOAD_TOLERANCE = 1e-9


@dataclass(frozen=True, kw_only=True)
class MixPart:
    """One product of a mix: `percent_vv` of the whole mix, or `rate_l_per_ha` of treated ground.

    `formulation` (see mix_order.py) says when it goes into the tank; left out, its role's usual one stands in.
    """

    product: str
    role: str = "herbicide"
    percent_vv: float | None = None
    rate_l_per_ha: float | None = None
    formulation: str = ""

    def __post_init__(self) -> None:
        if self.role not in PART_ROLES:
            raise UnknownCode(f"must be one of {', '.join(PART_ROLES)}", "role")
        if self.formulation not in ("", *FORMULATIONS, OIL):
            raise UnknownCode(f"must be one of {', '.join((*FORMULATIONS, OIL))}", "formulation")
        if (self.percent_vv is None) == (self.rate_l_per_ha is None):
            raise InvalidFact(f"{self.product}: give either percent by volume or a rate by area", "percent_vv")
        if self.percent_vv is not None and not 0 < self.percent_vv <= 100:
            raise InvalidFact(f"{self.product}: must be above 0 and at most 100", "percent_vv")
        if self.rate_l_per_ha is not None and not 0 < self.rate_l_per_ha < math.inf:
            raise InvalidFact(f"{self.product}: must be above 0", "rate_l_per_ha")


@dataclass(frozen=True, kw_only=True)
class Mix:
    """A mix as it is put into the tank: by calibrated carrier volume, or by dose along the stem's diameter."""

    code: str
    parts: tuple[MixPart, ...]
    tank_l: float
    carrier_l_per_ha: float | None = None
    stem_dose_ml_per_cm: float | None = None
    area_basis: str = "infested"

    def __post_init__(self) -> None:
        object.__setattr__(self, "parts", tuple(self.parts))
        if self.area_basis not in AREA_BASES:
            raise UnknownCode(f"must be one of {', '.join(AREA_BASES)}", "area_basis")
        if (self.carrier_l_per_ha is None) == (self.stem_dose_ml_per_cm is None):
            raise InvalidFact(f"{self.code}: give either a carrier volume or a dose by stem", "carrier_l_per_ha")
        for name in ("tank_l", "carrier_l_per_ha", "stem_dose_ml_per_cm"):
            value = getattr(self, name)
            if value is not None and not 0 < value < math.inf:
                raise InvalidFact(f"{self.code}: must be above 0", name)
        if sum(part.percent_vv or 0.0 for part in self.parts) > 100:
            raise InvalidFact(f"{self.code}: the parts are more than the whole mix", "percent_vv")
        if self.carrier_l_per_ha is None and any(part.percent_vv is None for part in self.parts):
            raise InvalidFact(f"{self.code}: a dose by stem needs percent by volume", "rate_l_per_ha")

    def fraction(self, part: MixPart) -> float:
        """Litres of a part in each litre of mix."""
        if part.percent_vv is not None:
            return part.percent_vv / 100
        assert part.rate_l_per_ha is not None
        assert self.carrier_l_per_ha is not None
        return part.rate_l_per_ha / self.carrier_l_per_ha


def area_volume_l(treated_area_m2: FloatArray | float, carrier_l_per_ha: FloatArray | float) -> FloatArray:
    """Spray volume of an area mix."""
    return np.asarray(treated_area_m2 * carrier_l_per_ha / SQUARE_METRES_PER_HECTARE, dtype=np.float64)


def stem_diameter_cm(stems: FloatArray) -> FloatArray:
    """Sum of diameters over the classes [..., class]: what a dose along the stem's diameter multiplies."""
    return np.asarray(stems @ STEM_DIAMETER_CM, dtype=np.float64)


def stem_volume_l(diameter_cm: FloatArray, dose_ml_per_cm: FloatArray | float) -> FloatArray:
    """Volume of a stem mix."""
    return np.asarray(diameter_cm * dose_ml_per_cm / 1000.0, dtype=np.float64)


@dataclass(frozen=True)
class TankLoads:
    """Full loads and what the last one holds; `last_l` 0: the last load is a full one."""

    loads: int
    full: int
    last_l: float


def load_count(volume_l: FloatArray, tank_l: FloatArray | float) -> FloatArray:
    """Number of loads, the last part load included."""
    return np.asarray(np.ceil(volume_l / tank_l - LOAD_TOLERANCE).clip(0), dtype=np.float64)


def tank_loads(volume_l: float, tank_l: float) -> TankLoads:
    """Loads for a volume: full ones and the last part load."""
    if not tank_l > 0:
        raise InvalidFact("must be above 0", "tank_l")
    if not volume_l >= 0:
        raise InvalidFact("must be 0 or more", "volume_l")
    loads = int(load_count(np.array(volume_l), tank_l))
    full = int(volume_l / tank_l + LOAD_TOLERANCE)
    return TankLoads(loads, full, volume_l - full * tank_l if loads > full else 0.0)


@dataclass(frozen=True)
class MixLine:
    """One product on a mix card, in milliliters and, for the loads, in US fluid ounces too."""

    product: str
    role: str
    formulation: str
    full_load_ml: float
    last_load_ml: float
    total_ml: float
    full_load_fl_oz: float
    last_load_fl_oz: float


@dataclass(frozen=True)
class MixCard:
    """What goes into each full load and into the last one.

    `carrier_*_ml`: the water or oil that fills it up, beside the lines; `carrier` names what the products are mixed
    into ("water", "oil", or "" where nothing is added); `steps` the order of mixing in words, with amounts.
    """

    mix: str
    tank_l: float
    loads: TankLoads
    lines: tuple[MixLine, ...]
    carrier_full_ml: float
    carrier_last_ml: float
    carrier: str
    steps: tuple[str, ...]
    cautions: tuple[str, ...]


def mix_card(mix: Mix, volume_l: float, words: Words = ENGLISH) -> MixCard:
    """The mix card of a job: each product per full load, for the last part load, and in all; how to mix it.

    Errors: `InvalidFact` where the parts leave no room for what they are mixed into.
    """
    loads = tank_loads(volume_l, mix.tank_l)
    full_ml, last_ml = (1000 * mix.tank_l if loads.full else 0.0), 1000 * loads.last_l
    share_left = 1 - sum(mix.fraction(part) for part in mix.parts)
    if share_left < -LOAD_TOLERANCE:
        raise InvalidFact(f"{mix.code}: the parts are more than the whole mix", "rate_l_per_ha")
    rest_full_ml, rest_last_ml = max(0.0, share_left) * full_ml, max(0.0, share_left) * last_ml
    lines = tuple(_mix_line(part, mix.fraction(part), full_ml, last_ml, 1000 * volume_l) for part in mix.parts)
    carrier, parts = Carrier("", 0.0, 0.0), _ingredients(lines)
    if loads.loads:
        carrier = carrier_of(parts, rest_full_ml, rest_last_ml)
    steps = mixing_steps(parts, carrier, words) if loads.loads else ()
    rest = (rest_full_ml, rest_last_ml)
    return MixCard(mix.code, mix.tank_l, loads, lines, *rest, carrier.name, steps, words.cautions)


def _mix_line(part: MixPart, share: float, full_ml: float, last_ml: float, total_ml: float) -> MixLine:
    formulation = part.formulation or USUAL_FORMULATION[part.role]
    full, last = full_ml * share, last_ml * share
    ounces = (full / MILLILITRES_PER_US_FLUID_OUNCE, last / MILLILITRES_PER_US_FLUID_OUNCE)
    return MixLine(part.product, part.role, formulation, full, last, total_ml * share, *ounces)


def _ingredients(lines: Sequence[MixLine]) -> list[Ingredient]:
    return [Ingredient(line.product, line.formulation, line.full_load_ml, line.last_load_ml) for line in lines]


def products_used(mixes: Sequence[Mix]) -> tuple[str, ...]:
    """All products of some mixes, each once, in order."""
    return tuple(dict.fromkeys(part.product for mix in mixes for part in mix.parts))
