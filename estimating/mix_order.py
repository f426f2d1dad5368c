"""The order in which a tank is filled, as numbered steps with amounts: water first, or oil first in an oil mix.

    half of the carrier, agitation, water conditioner, dry products, suspensions, emulsions, solutions, surfactant, dye,
    the rest of the carrier

Source: common practice of applicators. A label that gives another order decides; the last step says so.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from estimating.errors import UnknownCode
from estimating.units import KILOGRAMS_PER_POUND, LITRES_PER_US_GALLON, MILLILITRES_PER_US_FLUID_OUNCE

# In the order in which they go in, with what is said beside each.
FORMULATIONS = {
    "conditioner": "water conditioner; let it mix in before anything else",
    "dry": "dry product; let it wet and spread out fully before the next one",
    "suspension": "suspension; shake the container first",
    "emulsion": "emulsifiable concentrate",
    "solution": "solution",
    "surfactant": "surfactant; agitate gently, it foams",
    "dye": "marker dye",
}
OIL = "oil"
USUAL_FORMULATION = {"herbicide": "solution", "adjuvant": "surfactant", "dye": "dye", "oil": OIL}
LEAST_SHARE = 1e-9
LITRES_POURED_FROM_ML = 2000.0
GRAMS_PER_OUNCE = 1000 * KILOGRAMS_PER_POUND / 16  # avoirdupois

CAUTIONS = (
    "The label is the law: where it says otherwise than this card, the label decides, also on the order of mixing.",
    "Wear what the label asks of mixers and loaders, and have water at hand to wash off splashes.",
    "Never mix more than the day needs. Never leave a filling tank alone, and keep the hose out of the mix.",
    "A licensed person decides whether, where and by whom this mix is used.",
)


@dataclass(frozen=True)
class Words:
    """The sentences of one language; `kinds` by formulation, `carriers` by name."""

    kinds: Mapping[str, str]
    carriers: Mapping[str, str]
    add: str
    add_nothing: str
    first_half: str
    keep_dry: str
    agitate: str
    second_half: str
    agitate_again: str
    full_and_last: str
    dry_ounce: str
    cautions: tuple[str, ...]


ENGLISH = Words(
    kinds=FORMULATIONS,
    carriers={"water": "water", OIL: OIL},
    add="Add {name} ({kind}): {amount}.",
    add_nothing="Add nothing else: it is used as it comes.",
    first_half="Put half of the {carrier} into the clean tank: {amount}.",
    keep_dry=" Keep water out of it.",
    agitate="Agitate, and go on agitating; close and shake a backpack or a bottle after each product.",
    second_half="Fill up with the rest of the {carrier}: {amount}.",
    agitate_again="Agitate again. Where a label gives another order, follow the label.",
    full_and_last="{full} in a full load, {last} in the last load",
    dry_ounce="oz by weight",
    cautions=CAUTIONS,
)


@dataclass(frozen=True)
class Ingredient:
    """One thing that goes in: milliliters, or grams of a dry product, in a full load and in the last part load."""

    name: str
    formulation: str
    full: float
    last: float
    is_dry: bool = False

    def __post_init__(self) -> None:
        if self.formulation not in (*FORMULATIONS, OIL):
            raise UnknownCode(f"must be one of {', '.join((*FORMULATIONS, OIL))}", "formulation")


@dataclass(frozen=True)
class Carrier:
    """What the rest is mixed into; both amounts in milliliters. `name` "": nothing, the product is used as it is."""

    name: str
    full_ml: float
    last_ml: float


def carrier_of(ingredients: Sequence[Ingredient], rest_full_ml: float, rest_last_ml: float) -> Carrier:
    """Oil where there is more of it than of what the parts leave open, else water; nothing where both are none."""
    oils = [found for found in ingredients if found.formulation == OIL]
    oil_full, oil_last = sum(found.full for found in oils), sum(found.last for found in oils)
    if oils and oil_full + oil_last >= rest_full_ml + rest_last_ml:
        return Carrier(OIL, oil_full + rest_full_ml, oil_last + rest_last_ml)
    total = sum(found.full + found.last for found in ingredients if not found.is_dry) + rest_full_ml + rest_last_ml
    if rest_full_ml + rest_last_ml <= LEAST_SHARE * total:
        return Carrier("", 0.0, 0.0)
    return Carrier("water", rest_full_ml, rest_last_ml)


def mixing_steps(ingredients: Sequence[Ingredient], carrier: Carrier, words: Words = ENGLISH) -> tuple[str, ...]:
    """The steps in words, each with its amount for a full load and for the last part load, as far as there are such."""
    full, last = (any(getattr(found, load) > 0 for found in ingredients) for load in ("full", "last"))
    loads = _Loads(full, last, words)
    products = [found for found in ingredients if carrier.name != OIL or found.formulation != OIL]
    added = [
        words.add.format(
            name=found.name,
            kind=words.kinds.get(found.formulation) or words.carriers[OIL],
            amount=loads.told(_amount_text(found, words), found.full, found.last),
        )
        for found in _in_order(products)
    ]
    if not carrier.name:
        return (*added, words.add_nothing)
    half = loads.told(liquid_text, carrier.full_ml / 2, carrier.last_ml / 2)
    named = {"carrier": words.carriers[carrier.name], "amount": half}
    return (
        words.first_half.format(**named) + (words.keep_dry if carrier.name == OIL else ""),
        words.agitate,
        *added,
        words.second_half.format(**named),
        words.agitate_again,
    )


@dataclass(frozen=True)
class _Loads:
    """Which loads there are, and how an amount is told for them."""

    full: bool
    last: bool
    words: Words

    def told(self, text: Callable[[float], str], full: float, last: float) -> str:
        if self.full and self.last:
            return self.words.full_and_last.format(full=text(full), last=text(last))
        return text(full if self.full else last)


def _in_order(ingredients: Sequence[Ingredient]) -> list[Ingredient]:
    """As they go in. An oil that is not the carrier is an adjuvant and goes in with the surfactants."""
    order = list(FORMULATIONS)
    return sorted(
        ingredients, key=lambda found: order.index(found.formulation if found.formulation != OIL else "surfactant")
    )


def _amount_text(ingredient: Ingredient, words: Words) -> Callable[[float], str]:
    return partial(dry_text, ounce=words.dry_ounce) if ingredient.is_dry else liquid_text


def poured(volume_ml: float) -> tuple[float, str]:
    """A volume in the measure that pours it: gallons, fluid ounces, or milliliters where an ounce is too coarse."""
    ounces = volume_ml / MILLILITRES_PER_US_FLUID_OUNCE
    gallons = volume_ml / 1000 / LITRES_PER_US_GALLON
    if gallons >= 1:
        return round(gallons, 2), "gal"
    return (round(ounces, 2), "fl oz") if ounces >= 1 else (round(volume_ml, 1), "mL")


def liquid_text(volume_ml: float) -> str:
    """A volume as it is read off, in US and in metric measures: 10.14 fl oz (300 mL), from two liters on 1.93 gal
    (7.31 L). Less than an ounce has its milliliters first: 20.0 mL (0.68 fl oz)."""
    if volume_ml >= LITRES_POURED_FROM_ML:
        return f"{volume_ml / 1000 / LITRES_PER_US_GALLON:.2f} gal ({volume_ml / 1000:.2f} L)"
    us, metric = f"{volume_ml / MILLILITRES_PER_US_FLUID_OUNCE:.2f} fl oz", f"{_decimal(volume_ml)} mL"
    return f"{metric} ({us})" if poured(volume_ml)[1] == "mL" else f"{us} ({metric})"


def dry_text(mass_g: float, ounce: str = ENGLISH.dry_ounce) -> str:
    """A mass in US and in metric measures: 1.00 oz by weight (28.3 g)."""
    return f"{mass_g / GRAMS_PER_OUNCE:.2f} {ounce} ({_decimal(mass_g)} g)"


def _decimal(amount: float) -> str:
    """Whole from 100 on, where no measuring cup shows tenths."""
    return f"{amount:.0f}" if amount >= 100 else f"{amount:.1f}"
