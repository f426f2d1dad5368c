"""Sheets of mixing a load: by percent of volume, or by a rate per acre at a calibrated volume. See mixing.py."""

from dataclasses import dataclass

from estimating import mixing
from estimating.errors import InvalidFact
from estimating.materials import TankLoads, tank_loads
from estimating.mix_order import CAUTIONS, FORMULATIONS, GRAMS_PER_OUNCE, LEAST_SHARE, Carrier, Ingredient, mixing_steps
from estimating.units import (
    LITRES_PER_US_GALLON,
    MILLILITRES_PER_US_FLUID_OUNCE,
    SQUARE_METRES_PER_ACRE,
    SQUARE_METRES_PER_HECTARE,
    US_FLUID_OUNCES_PER_US_GALLON,
)
from estimating.worksheet import Answer, Asked, Entry, Line, Sheet, carried, number, number_or, shown, typed, word

LIQUID_RATES = {"fl oz": "fl oz", "pt": "pints", "qt": "quarts", "gal": "gallons"}
OUNCES_BY_WEIGHT = {"oz": 1.0, "lb": 16.0}
RATE_UNITS = {**LIQUID_RATES, "oz": "ounces by weight (dry product)", "lb": "pounds (dry product)"}
BASES = {"mix": "of the whole mix", "water": "of the water added"}
LIQUID_KINDS = ("suspension", "emulsion", "solution")
CARRIERS = {"water": "water", "oil": "oil"}
HECTARES_PER_ACRE = SQUARE_METRES_PER_ACRE / SQUARE_METRES_PER_HECTARE

TANK = Entry(name="tank_gal", label="Mix in a full tank", unit="gal", low=0.01, high=10_000, usual=4)
CARRIER = Entry(name="carrier", label="Mixed into", words=CARRIERS, usual="water")
FORMULATION = Entry(
    name="formulation",
    label="Kind of product",
    words={name: told.split(";")[0] for name, told in FORMULATIONS.items() if name in LIQUID_KINDS},
    usual="solution",
    help="Decides when it goes into the tank.",
)
SURFACTANT = Entry(
    name="surfactant_percent_vv",
    label="Surfactant",
    unit="% of the whole mix",
    low=0,
    high=20,
    needed=False,
    help="Only where the label asks for one.",
)
AREA = Entry(
    name="area_acres",
    label="Ground to treat today",
    unit="acres",
    low=0.0001,
    high=10_000,
    needed=False,
    help="Gives the number of loads and the last part load. Needs the spray volume.",
)
PERCENT_ENTRIES = (
    Entry(
        name="percent_vv",
        label="Product",
        unit="%",
        low=0.001,
        high=100,
        help="By volume, as the label says.",
    ),
    Entry(name="basis", label="The percent is", words=BASES, usual="mix", help="Labels mean the whole mix as a rule."),
    TANK,
    CARRIER,
    FORMULATION,
    SURFACTANT,
    Entry(name="carrier_gpa", label="Spray volume, calibrated", unit="gal/acre", low=0.01, high=5_000, needed=False),
    AREA,
)
RATE_ENTRIES = (
    Entry(name="rate_per_acre", label="Product per acre", low=0.0001, high=100_000, help="The label's rate."),
    Entry(name="rate_unit", label="The rate is in", words=RATE_UNITS, usual="fl oz"),
    Entry(name="carrier_gpa", label="Spray volume, calibrated", unit="gal/acre", low=0.01, high=5_000),
    TANK,
    CARRIER,
    FORMULATION,
    SURFACTANT,
    AREA,
)


@dataclass(frozen=True)
class _Product:
    """The product of a mix: ounces (fluid, or by weight) in each gallon of mix."""

    oz_per_gal: float
    is_dry: bool = False

    @property
    def unit(self) -> str:
        return "oz by weight" if self.is_dry else "fl oz"

    @property
    def metric_unit(self) -> str:
        return "g" if self.is_dry else "mL"

    def metric(self, ounces: float) -> float:
        """Milliliters, or grams of a dry product."""
        return ounces * (GRAMS_PER_OUNCE if self.is_dry else MILLILITRES_PER_US_FLUID_OUNCE)

    def answer(self, name: str, label: str, ounces: float) -> Answer:
        return Answer(name, label, ounces, self.unit, self.metric(ounces), self.metric_unit)

    def per_acre(self, carrier_gpa: float) -> Answer:
        """What the calibrated volume brings onto an acre, to be held against the label's rate."""
        ounces = self.oz_per_gal * carrier_gpa
        metric = self.metric(ounces) / HECTARES_PER_ACRE
        return Answer(
            "product_per_acre", "Product per acre", ounces, f"{self.unit}/acre", metric, self.metric_unit + "/ha"
        )


def percent_sheet(asked: Asked) -> Sheet:
    """A load by percent of volume: of the whole mix, or of the water added where the sheet at hand means that.

    Entries as in PERCENT_ENTRIES. Errors: `InvalidFact` with the entry's name. Source: 1.28 fl oz in a gallon are
    1 percent (128 fl oz a gallon).
    """
    percent, tank_gal = number(asked, "percent_vv"), number(asked, "tank_gal")
    working: tuple[Line, ...] = ()
    of_mix = percent
    if word(asked, "basis") == "water":
        of_mix = mixing.percent_vv_from_water(percent)
        filled = f"{typed(percent)} ÷ (100 + {typed(percent)}) × 100"
        working = (Line("Percent of the whole mix", "% ÷ (100 + %) × 100", filled, f"{shown(of_mix)}%"),)
    product = _Product(mixing.product_fl_oz(of_mix, 1))
    working += (
        Line(
            "Product in a full tank",
            "% ÷ 100 × gallons × 128",
            f"{carried(of_mix)} ÷ 100 × {typed(tank_gal)} × 128",
            f"{shown(product.oz_per_gal * tank_gal)} fl oz",
        ),
    )
    return _load_sheet(asked, product, working, "128 US fluid ounces in a gallon, exact")


def rate_sheet(asked: Asked) -> Sheet:
    """A load by a rate per acre at a calibrated spray volume; liquid products by volume, dry ones by weight.

    Entries as in RATE_ENTRIES. Errors: `InvalidFact` with the entry's name. Source: NC State Extension, backpack
    sprayer calibration worksheet.
    """
    rate, unit = number(asked, "rate_per_acre"), word(asked, "rate_unit")
    carrier_gpa, tank_gal = number(asked, "carrier_gpa"), number(asked, "tank_gal")
    each = OUNCES_BY_WEIGHT[unit] if unit in OUNCES_BY_WEIGHT else mixing.fluid_ounces_of(1, unit)
    product = _Product(mixing.oz_per_gallon(rate * each, carrier_gpa), is_dry=unit in OUNCES_BY_WEIGHT)
    working: tuple[Line, ...] = ()
    if each != 1:
        filled = f"{typed(rate)} × {typed(each)}"
        working = (
            Line("Rate in ounces", "rate × ounces in the unit", filled, f"{shown(rate * each)} {product.unit}/acre"),
        )
    working += (
        Line(
            "Product in a full tank",
            "ounces per acre × gallons ÷ gal/acre",
            f"{carried(rate * each)} × {typed(tank_gal)} ÷ {typed(carrier_gpa)}",
            f"{shown(product.oz_per_gal * tank_gal)} {product.unit}",
        ),
    )
    return _load_sheet(asked, product, working, "NC State Extension, backpack sprayer calibration worksheet")


def _load_sheet(asked: Asked, product: _Product, working: tuple[Line, ...], source: str) -> Sheet:
    """What both ways of mixing share: room for the carrier, loads for the ground, and the order of mixing."""
    tank_gal, surfactant = number(asked, "tank_gal"), number_or(asked, "surfactant_percent_vv", 0.0) / 100
    product_share = 0.0 if product.is_dry else product.oz_per_gal / US_FLUID_OUNCES_PER_US_GALLON
    carrier_share = 1 - product_share - surfactant
    if carrier_share < -LEAST_SHARE:
        raise InvalidFact("has no room: product and surfactant are more than the mix", "tank_gal")
    fill = word(asked, "carrier")
    carrier_gal = max(0.0, carrier_share) * tank_gal
    room = Line(
        f"{fill.capitalize()} in a full tank",
        "gallons − gallons of product − gallons of surfactant",
        f"{typed(tank_gal)} − {carried(product_share * tank_gal)} − {carried(surfactant * tank_gal)}",
        f"{shown(carrier_gal)} gal",
    )
    loads, ground, ground_lines = _ground(asked, product)
    answers = (
        product.answer("product_per_tank", "Product in a full tank", product.oz_per_gal * tank_gal),
        _volume("carrier_per_tank", room.what, carrier_gal),
        product.answer("product_per_gal", "Product in each gallon of mix", product.oz_per_gal),
        *ground,
    )
    parts = _ingredients(product, surfactant, asked, loads)
    carrier = Carrier(fill if carrier_gal else "", *(_ml(gal) * max(0.0, carrier_share) for gal in loads))
    return Sheet(
        answers=answers,
        working=(*working, room, *ground_lines),
        cautions=CAUTIONS,
        sources=(source, "order of mixing: common practice"),
        steps=mixing_steps(parts, carrier),
    )


def _ground(asked: Asked, product: _Product) -> tuple[tuple[float, float], tuple[Answer, ...], tuple[Line, ...]]:
    """Gallons in a full and in the last load, and what is said of the ground where its figures are known."""
    tank_gal = number(asked, "tank_gal")
    if asked.get("carrier_gpa") is None:
        if asked.get("area_acres") is not None:
            raise InvalidFact("is needed to find the loads for some ground", "carrier_gpa")
        return (tank_gal, 0.0), (), ()
    carrier_gpa = number(asked, "carrier_gpa")
    covers = mixing.acres_per_load(tank_gal, carrier_gpa)
    answers = (
        Answer("acres_per_tank", "A full tank covers", covers, "acres", covers * HECTARES_PER_ACRE, "ha"),
        product.per_acre(carrier_gpa),
    )
    line = Line(
        "A full tank covers",
        "gallons ÷ gal/acre",
        f"{typed(tank_gal)} ÷ {typed(carrier_gpa)}",
        f"{shown(covers)} acres",
    )
    if asked.get("area_acres") is None:
        return (tank_gal, 0.0), answers, (line,)
    total_gal = mixing.gallons_for_area(number(asked, "area_acres"), carrier_gpa)
    loads = tank_loads(total_gal, tank_gal)
    lines = (
        line,
        Line(
            "Mix for the ground",
            "acres × gal/acre",
            f"{typed(number(asked, 'area_acres'))} × {typed(carrier_gpa)}",
            f"{shown(total_gal)} gal",
        ),
        Line(
            "Last load",
            "gallons of mix − full tanks × gallons in a tank",
            f"{carried(total_gal)} − {loads.full} × {typed(tank_gal)}",
            f"{shown(loads.last_l)} gal",
        ),
    )
    in_loads = (tank_gal if loads.full else 0.0, loads.last_l)
    return in_loads, (*answers, *_load_answers(loads, total_gal, product)), lines


def _load_answers(loads: TankLoads, total_gal: float, product: _Product) -> tuple[Answer, ...]:
    whole = (
        _volume("mix_total", "Mix for the ground", total_gal),
        product.answer("product_total", "Product for the ground", product.oz_per_gal * total_gal),
        Answer("full_loads", "Full loads", loads.full, ""),
    )
    if not loads.last_l:
        return whole
    return (
        *whole,
        _volume("last_load", "Mix in the last load", loads.last_l),
        product.answer("product_last_load", "Product in the last load", product.oz_per_gal * loads.last_l),
    )


def _volume(name: str, label: str, volume_gal: float) -> Answer:
    return Answer(name, label, volume_gal, "gal", volume_gal * LITRES_PER_US_GALLON, "L")


def _ml(volume_gal: float) -> float:
    return 1000 * LITRES_PER_US_GALLON * volume_gal


def _ingredients(
    product: _Product, surfactant: float, asked: Asked, loads_gal: tuple[float, float]
) -> list[Ingredient]:
    full, last = (product.metric(product.oz_per_gal * gal) for gal in loads_gal)
    formulation = "dry" if product.is_dry else word(asked, "formulation")
    parts = [Ingredient("the product", formulation, full, last, product.is_dry)]
    if surfactant:
        full, last = (_ml(gal) * surfactant for gal in loads_gal)
        parts.append(Ingredient("the surfactant", "surfactant", full, last))
    return parts
