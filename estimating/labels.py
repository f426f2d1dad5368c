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


class LimitKind(StrEnum):
    """Who set a limit. Nobody overrides the first; the others may be overridden with name and reason."""

    MANDATORY = "label-mandatory"
    ADVISORY = "label-advisory"
    POLICY = "program-policy"


CAP_PERIODS = ("application", "year")
CAP_AREAS = ("treated", "site")
CAP_YEARS = ("calendar", "rolling")
MEASURES = ("wind_m_s", "temperature_c")


def _check_one_of(name: str, value: str, known: tuple[str, ...]) -> None:
    if value not in known:
        raise UnknownCode(f"{value!r} is none of {', '.join(known)}", name)


@dataclass(frozen=True, kw_only=True)
class Cap:
    """Most acid equivalent of one ingredient per hectare, per application or per year.

    `area` says which hectares: those treated, or the whole site's; `year` which year: the calendar's, or any 365 days.
    """

    ingredient: str
    kg_ae_per_ha: float
    period: str
    area: str = "treated"
    year: str = "calendar"
    kind: LimitKind = LimitKind.MANDATORY
    reference: str

    def __post_init__(self) -> None:
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
    the ingredients for which the label states that it sets none; `least_water_distance_m` is the label's own buffer.
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
    weather: tuple[WeatherLimit, ...] = ()
    signal_word: str = ""

    def __post_init__(self) -> None:
        for name in ("states", "uses", "no_annual_cap"):
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

    `row` is what a message names (an order line, a record); `distance_to_water_m` None: not known.
    """

    row: str
    patch: str
    product: str
    method: str
    on: date
    product_l: float
    treated_area_m2: float
    site_area_m2: float
    state: str
    percent_vv: float | None = None
    distance_to_water_m: float | None = None
    desirable_tree_roots: Known = Known.UNKNOWN

    def __post_init__(self) -> None:
        if not 0 <= self.product_l < math.inf:
            raise InvalidFact(f"{self.row}: must be 0 or more", "product_l")
        for name in ("treated_area_m2", "site_area_m2"):
            if not 0 < getattr(self, name) < math.inf:
                raise InvalidFact(f"{self.row}: must be above 0", name)


@dataclass(frozen=True, kw_only=True)
class GuardPolicy:
    """The program's own limits beside the label's: the age of a review, and how near water needs an aquatic label."""

    today: date
    review_days: int = 365
    water_distance_m: float = 15.0


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One limit that is passed, or one fact that is missing; `rows` are the uses behind it."""

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

    @property
    def overridable(self) -> bool:
        """Whether a named person may let it pass with a reason."""
        return self.kind is not LimitKind.MANDATORY
