"""Label data of registered products, and uses of them, as the label guard reads them.

Label data belongs to one registered product and one version of its label. The label on the container is the law; what
stands here is what a licensed person read from it, with the reference and the date of the review.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from estimating.columns import Known
from estimating.errors import InvalidFact, UnknownCode

# The one wording for screens, cards, replies and refusals.
THE_LAW = (
    "The label is the law. The label on the container governs; local rules and a licensed applicator decide. "
    "What stands here is a reviewed copy of its facts."
)


class LimitKind(StrEnum):
    """Who set a limit. Nobody overrides the first; the others may be overridden with name and reason."""

    MANDATORY = "label-mandatory"
    ADVISORY = "label-advisory"
    POLICY = "program-policy"


CAP_PERIODS = ("application", "year")
CAP_AREAS = ("treated", "infested", "gross")
CAP_YEARS = ("calendar", "12 months", "season")
MEASURES = ("wind_m_s", "temperature_c")
# Words that stored label data used before for the same thing; they are read for good.
SYNONYMS: Mapping[str, str] = {"site": "gross", "rolling": "12 months"}


def _check_one_of(name: str, value: str, known: tuple[str, ...]) -> None:
    if value not in known:
        raise UnknownCode(f"{value!r} is none of {', '.join(known)}", name)


@dataclass(frozen=True, kw_only=True)
class Cap:
    """Most acid equivalent of one ingredient per hectare, per application or per year.

    `area` says which hectares divide the kilograms: those treated, those infested, or the gross area of the mapped
    patch. `year` says which uses a yearly cap adds up: those of the same calendar year, of any 365 days (`12 months`),
    or of the same season of the program. `method` narrows a cap to one use of the label; empty, it holds for all.
    """

    ingredient: str
    kg_ae_per_ha: float
    period: str
    area: str = "treated"
    year: str = "calendar"
    kind: LimitKind = LimitKind.MANDATORY
    reference: str
    method: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "area", SYNONYMS.get(self.area, self.area))
        object.__setattr__(self, "year", SYNONYMS.get(self.year, self.year))
        _check_one_of("period", self.period, CAP_PERIODS)
        _check_one_of("area", self.area, CAP_AREAS)
        _check_one_of("year", self.year, CAP_YEARS)
        if not 0 < self.kg_ae_per_ha < math.inf:
            raise InvalidFact("must be above 0", "kg_ae_per_ha")
        if not self.reference.strip():
            raise InvalidFact("a cap without a label reference is refused", "reference")


@dataclass(frozen=True, kw_only=True)
class WeatherLimit:
    """Range of wind or temperature in which the label allows, or advises, the use."""

    measure: str
    low: float = -math.inf
    high: float = math.inf
    kind: LimitKind = LimitKind.ADVISORY
    reference: str

    def __post_init__(self) -> None:
        _check_one_of("measure", self.measure, MEASURES)
        if not self.low <= self.high:
            raise InvalidFact("must not be above high", "low")


@dataclass(frozen=True, kw_only=True)
class ProductLabel:
    """One registered product under one version of its label.

    `uses` are the methods the label allows; `ingredients` g of acid equivalent per litre by name; `no_annual_cap` names
    the ingredients for which the label states that it sets none; `caps_without_reference` those with a figure that no
    page of a label is named for; `least_water_distance_m` is the label's own buffer. `max_percent_vv` and
    `max_l_per_ha` (litres of product per treated hectare and application) are by method, where the label gives them.
    """

    code: str
    name: str
    registration_number: str
    label_version: str
    label_reference: str
    reviewed_on: date | None
    states: frozenset[str]
    uses: frozenset[str]
    ingredients: Mapping[str, float]
    caps: tuple[Cap, ...] = ()
    no_annual_cap: frozenset[str] = frozenset()
    soil_active: bool = False
    aquatic: bool = False
    least_water_distance_m: float = 0.0
    max_percent_vv: Mapping[str, float] = field(default_factory=dict)
    max_l_per_ha: Mapping[str, float] = field(default_factory=dict)
    caps_without_reference: frozenset[str] = frozenset()
    weather: tuple[WeatherLimit, ...] = ()
    signal_word: str = ""

    def __post_init__(self) -> None:
        for name in ("states", "uses", "no_annual_cap", "caps_without_reference"):
            object.__setattr__(self, name, frozenset(getattr(self, name)))
        for name in ("caps", "weather"):
            object.__setattr__(self, name, tuple(getattr(self, name)))
        for ingredient, ae_g_per_l in self.ingredients.items():
            if not 0 < ae_g_per_l < math.inf:
                raise InvalidFact(f"{ingredient}: must be above 0 g/l", "ingredients")
        for cap in self.caps:
            if cap.ingredient not in self.ingredients:
                raise UnknownCode(f"{self.code} holds no {cap.ingredient!r}", "caps")

    def kg_ae(self, ingredient: str, product_l: float) -> float:
        """Acid equivalent of an ingredient in a volume of this product."""
        return self.ingredients.get(ingredient, 0.0) * product_l / 1000.0


@dataclass(frozen=True, kw_only=True)
class Application:
    """One use of a product on one patch on one day: proposed, ordered and still open, or done.

    `row` is what a message names (an order's line, a record) and what a ground is made of; several products of one mix
    share it. `treated_area_m2` is what this use covers; `infested_area_m2` and `gross_area_m2` are the patch's. Where
    `infested_area_m2` is None the treated area stands in. `distance_to_water_m` None: not known. `uncounted` says why
    the amount of a use cannot be told in litres; such a use blocks new ones on its ground.

    Uses with the same `work` are parts of one pass over the patch, done on several days: each covers ground of its own,
    `work_area_m2` in all.
    """

    row: str
    patch: str
    product: str
    method: str
    on: date
    product_l: float
    treated_area_m2: float
    gross_area_m2: float
    infested_area_m2: float | None = None
    state: str
    percent_vv: float | None = None
    distance_to_water_m: float | None = None
    desirable_tree_roots: Known = Known.UNKNOWN
    uncounted: str = ""
    work: str = ""
    work_area_m2: float | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.product_l < math.inf:
            raise InvalidFact(f"{self.row}: must be 0 or more", "product_l")
        for name in ("treated_area_m2", "infested_area_m2", "gross_area_m2", "work_area_m2"):
            value = getattr(self, name)
            if value is not None and not 0 < value < math.inf:
                raise InvalidFact(f"{self.row}: must be above 0", name)

    def area_m2(self, basis: str) -> float:
        """The area that a cap of this basis divides by: treated, infested or gross."""
        if basis == "treated" or (basis == "infested" and self.infested_area_m2 is None):
            return self.treated_area_m2
        return self.gross_area_m2 if basis == "gross" else float(self.infested_area_m2 or 0)


@dataclass(frozen=True, kw_only=True)
class GuardPolicy:
    """The program's own limits beside the label's, and its seasons for caps that are counted by season.

    `review_days`: how old a review may be; `water_distance_m`: how near water needs an aquatic label; `seasons`: first
    and last day of each.
    """

    today: date
    review_days: int = 365
    water_distance_m: float = 15.0
    seasons: tuple[tuple[date, date], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Counted:
    """One use behind a sum, or the days of one pass together: what was put down, on how much ground, and the rate that
    it counts with (kg ae/ha)."""

    row: str
    on: date
    product: str
    product_l: float
    kg_ae: float
    area_m2: float
    kg_ae_per_ha: float


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One limit that is passed, or one fact that is missing; `rows` are the uses behind it.

    `proposed` are those of the rows that are asked for now: an override speaks for them, never for earlier work.
    `counted` holds the parts of a sum, so that `total` can be added up by hand.
    """

    kind: LimitKind
    code: str
    message: str
    rows: tuple[str, ...]
    product: str
    ingredient: str = ""
    limit: float | None = None
    total: float | None = None
    unit: str = ""
    reference: str = ""
    proposed: tuple[str, ...] = ()
    counted: tuple[Counted, ...] = ()

    @property
    def overridable(self) -> bool:
        """Whether a named person may let it pass with a reason."""
        return self.kind is not LimitKind.MANDATORY
