"""What a reviewed label says of a product, and what goes into a mix, as handed to their services and read back."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from datetime import date
from typing import Any

from orders.supplies.models import Mix, Product


@dataclass(frozen=True, kw_only=True)
class UseFacts:
    """A method that the label allows, with what it gives for that use alone."""

    method: str
    max_percent_vv: float | None = None
    max_l_per_ha: float | None = None
    least_days_between: int | None = None
    most_uses_a_year: int | None = None
    reference: str = ""


@dataclass(frozen=True, kw_only=True)
class WeatherFacts:
    """A range of wind (m/s) or air temperature (degrees C), open on the side that is None."""

    measure: str
    low: float | None = None
    high: float | None = None
    kind: str
    reference: str


@dataclass(frozen=True, kw_only=True)
class CapFacts:
    """One cap of a label: acid equivalent over an area in a period, with its bases and where it is written."""

    ingredient: str
    kg_ae_per_ha: float
    period: str
    area_basis: str
    year_basis: str
    kind: str
    reference: str
    method: str = ""


@dataclass(frozen=True, kw_only=True)
class LabelFacts:
    """One version of the label of one registered product; or of an adjuvant, dye or oil, which has no caps."""

    label_version: str = ""
    label_reference: str = ""
    reviewed_on: date | None = None
    reviewed_by: str = ""
    formulation: str = ""
    signal_word: str = ""
    states: tuple[str, ...] = ()
    uses: tuple[UseFacts, ...] = ()
    soil_active: bool = False
    aquatic: bool = False
    no_annual_cap: tuple[str, ...] = ()
    least_water_distance_m: float = 0.0
    weather: tuple[WeatherFacts, ...] = ()
    rain_free_hours: float | None = None
    entry_rule: str = ""
    restricted_entry_hours: int | None = None
    protective_equipment: str = ""
    cautions: str = ""
    storage_note: str = ""
    ingredients: Mapping[str, float] = field(default_factory=dict)
    caps: tuple[CapFacts, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PartFacts:
    """One product in a mix, by percent of volume or by rate over an area."""

    product: Product
    part: str
    percent_vv: float | None = None
    rate_l_per_ha: float | None = None


def label_facts(product: Product) -> LabelFacts:
    """What is kept of a product's label."""
    lists = {"ingredients", "uses", "caps", "weather", "states", "no_annual_cap"}
    own: dict[str, Any] = {one.name: getattr(product, one.name) for one in fields(LabelFacts) if one.name not in lists}
    return LabelFacts(
        **own,
        states=tuple(product.states),
        no_annual_cap=tuple(product.no_annual_cap),
        ingredients={row.ingredient: row.ae_g_per_l for row in product.ingredients.all()},
        uses=tuple(UseFacts(**_same(UseFacts, row)) for row in product.label_uses.all()),
        caps=tuple(CapFacts(**_same(CapFacts, row)) for row in product.caps.all()),
        weather=tuple(WeatherFacts(**_same(WeatherFacts, row)) for row in product.label_weather.all()),
    )


def parts_of(mix: Mix) -> list[PartFacts]:
    """What goes into a mix."""
    return [PartFacts(**_same(PartFacts, row)) for row in mix.parts.all()]


def _same(kind: type[Any], row: Any) -> dict[str, Any]:
    return {one.name: getattr(row, one.name) for one in fields(kind)}
