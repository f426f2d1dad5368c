"""One load of a mix worked out, and what the labels kept here say to its strength."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from estimating.mixing import hectares_per_load, product_in_load_metric, product_ml
from estimating.units import ACRES_PER_HECTARE, MILLILITRES_PER_US_FLUID_OUNCE, gallons
from orders.supplies.labels import PartFacts
from orders.supplies.models import LabelUse

ML_PER_L = 1000.0
LARGE_ML = 1000.0


@dataclass(frozen=True)
class LoadPart:
    name: str
    part: str
    amount: str
    working: str


@dataclass(frozen=True)
class Load:
    """What goes into one load, the water or oil that fills it up, and the ground that it covers."""

    gallons: str
    parts: list[LoadPart]
    rest: str
    ground: str


def load_of(values: dict[str, Any]) -> Load | str:
    """The load, or in words why there is none."""
    tank, carrier = values["tank_l"] or 0.0, values["carrier_l_per_ha"]
    parts: Sequence[PartFacts] = values["parts"]
    if not parts or tank <= 0:
        return "Give the tank and one product at least."
    amounts = [_ml(part, tank, carrier) for part in parts]
    if any(amount is None for amount in amounts):
        return "Each product has a percent, or a rate with gallons an acre: one of them."
    known = [amount or 0.0 for amount in amounts]
    if sum(known) > tank * ML_PER_L:
        return "The products alone come to more than the tank holds."
    return Load(
        f"{gallons(tank):.4g}",
        [
            LoadPart(part.product.name, part.part, _volume(amount), _working(part, tank, carrier))
            for part, amount in zip(parts, known, strict=True)
        ],
        _volume(tank * ML_PER_L - sum(known)),
        _ground(tank, carrier),
    )


def _ml(part: PartFacts, tank: float, carrier: float | None) -> float | None:
    if (part.percent_vv is None) == (part.rate_l_per_ha is None):
        return None
    if part.percent_vv is not None:
        return product_ml(part.percent_vv, tank)
    return product_in_load_metric((part.rate_l_per_ha or 0.0) * ML_PER_L, carrier, tank) if carrier else None


def _volume(ml: float) -> str:
    ounces = ml / MILLILITRES_PER_US_FLUID_OUNCE
    metric = f"{ml / ML_PER_L:.2f} L" if ml >= LARGE_ML else f"{ml:.0f} mL"
    us = f"{gallons(ml / ML_PER_L):.2f} gal" if ounces >= 128 else f"{ounces:.1f} fl oz"
    return f"{us} ({metric})"


def _working(part: PartFacts, tank: float, carrier: float | None) -> str:
    if part.percent_vv is not None:
        return f"{part.percent_vv:g}% of {gallons(tank):.2f} gal"
    return f"{part.rate_l_per_ha:.3g} L/ha × {tank:.3g} L ÷ {carrier or 0:.3g} L/ha"


def _ground(tank: float, carrier: float | None) -> str:
    if not carrier:
        return ""
    acres = hectares_per_load(tank, carrier) * ACRES_PER_HECTARE
    return f"{gallons(tank):.2f} gal ÷ gallons an acre = {acres:.2f} acres"


def label_words(used: Mapping[str, str], values: dict[str, Any]) -> list[str]:
    """What the labels kept here say to the strength, for the methods (names by code) that are done with the mix."""
    herbicides = [part for part in values["parts"] if part.product.is_herbicide]
    uses = {
        (use.product_id, use.method): use
        for use in LabelUse.objects.filter(method__in=used, product__in=[part.product for part in herbicides])
    }
    return [
        words
        for part in herbicides
        for code, name in sorted(used.items())
        for words in _against(part, name, uses.get((part.product.pk, code)))
    ]


def _against(part: PartFacts, method: str, use: LabelUse | None) -> Iterator[str]:
    named = part.product.name
    if use is None:
        yield f"The label of {named}, as it is kept here, does not allow {method}: the label guard refuses it."
        return
    for most, value, unit in (
        (use.max_percent_vv, part.percent_vv, "%"),
        (use.max_l_per_ha, part.rate_l_per_ha, "L/ha"),
    ):
        if most is not None and value is not None and value > most:
            yield (
                f"{named} at {value:g} {unit} is more than the {most:g} {unit} that its label allows for {method}: "
                f"the label guard refuses it."
            )
