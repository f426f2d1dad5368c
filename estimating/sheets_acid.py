"""Sheet of acid equivalent per acre, against the label's limit. See acid.py."""

from estimating import acid, mixing
from estimating.errors import InvalidFact
from estimating.units import (
    KG_PER_HA_PER_LB_PER_ACRE,
    KILOGRAMS_PER_POUND,
    LITRES_PER_US_GALLON,
    MILLILITRES_PER_US_FLUID_OUNCE,
    SQUARE_METRES_PER_ACRE,
    SQUARE_METRES_PER_HECTARE,
)
from estimating.worksheet import Answer, Asked, Entry, Line, Sheet, carried, number, number_or, shown, typed, word

STRENGTH_UNITS = {
    "lb-ae-gal": "lb acid equivalent per gallon",
    "lb-ai-gal": "lb active ingredient per gallon",
    "g-ae-l": "g acid equivalent per liter",
    "g-ai-l": "g active ingredient per liter",
}
CAUTIONS = (
    "The label is the law. Its limit an application and its limit a year decide, with the acres that it counts.",
    "Count every product with the same acid, and everything applied on the same ground in the label's year.",
    "Nobody may go past a label's limit. A licensed person decides whether and where the product is used.",
)
ACID_ENTRIES = (
    Entry(name="strength", label="Strength on the label", low=0.0001, high=5_000),
    Entry(name="strength_unit", label="The strength is in", words=STRENGTH_UNITS, usual="lb-ae-gal"),
    Entry(
        name="ae_ratio",
        label="Acid equivalent over active ingredient",
        low=0.01,
        high=1,
        needed=False,
        help="Only for a strength in active ingredient: divide the label's two figures, such as 3 ÷ 4 = 0.75.",
    ),
    Entry(
        name="product_fl_oz_per_acre",
        label="Product per acre",
        unit="fl oz/acre",
        low=0.0001,
        high=100_000,
        needed=False,
        help="Or leave empty and give the percent and the spray volume.",
    ),
    Entry(name="percent_vv", label="Product in the mix", unit="%", low=0.001, high=100, needed=False),
    Entry(name="carrier_gpa", label="Spray volume, calibrated", unit="gal/acre", low=0.01, high=5_000, needed=False),
    Entry(
        name="earlier_lb_ae_per_acre",
        label="Applied earlier on this ground",
        unit="lb ae/acre",
        low=0,
        high=1_000,
        needed=False,
        help="Same acid, any product, within the label's year.",
    ),
    Entry(
        name="most_lb_ae_per_acre",
        label="The label's limit",
        unit="lb ae/acre",
        low=0.0001,
        high=1_000,
        needed=False,
        help="For this use, from the label in your hand.",
    ),
)


def acid_sheet(asked: Asked) -> Sheet:
    """Acid equivalent per acre, from a rate or from a percent at a calibrated volume, and the sum with earlier work.

    Entries as in ACID_ENTRIES. Errors: `InvalidFact` with the entry's name. Above the limit the sheet is a refusal: it
    tells the sum and what the limit still leaves, and nothing else. Source: UF/IFAS prints 96 fl oz of 2 lb ae/gal =
    1.5 lb ae/acre; the formula follows from the units.
    """
    strength, strength_lines = _strength(asked)
    ounces, rate_lines = _ounces(asked)
    per_acre = acid.acid_equivalent_lb(ounces, strength)
    earlier = number_or(asked, "earlier_lb_ae_per_acre", 0.0)
    total = per_acre + earlier
    working = (
        *strength_lines,
        *rate_lines,
        Line(
            "Acid equivalent per acre",
            "fl oz per acre ÷ 128 × lb ae/gal",
            f"{carried(ounces)} ÷ 128 × {carried(strength)}",
            f"{shown(per_acre)} lb ae/acre",
        ),
        Line(
            "With earlier work",
            "this + earlier",
            f"{carried(per_acre)} + {typed(earlier)}",
            f"{shown(total)} lb ae/acre",
        ),
    )
    answers = (
        _acid("lb_ae_per_acre", "Acid equivalent per acre", per_acre),
        _acid("total_lb_ae_per_acre", "With earlier work", total),
        _product("product_per_acre", "Product per acre", ounces),
        Answer(
            "lb_ae_per_gal",
            "Strength of the product",
            strength,
            "lb ae/gal",
            strength * KILOGRAMS_PER_POUND * 1000 / LITRES_PER_US_GALLON,
            "g ae/L",
        ),
    )
    limit_answers, refusal = _against_limit(asked, total, earlier, strength)
    return Sheet(
        answers=(*(answers if not refusal else answers[1:2]), *limit_answers),
        working=working,
        cautions=CAUTIONS,
        sources=("UF/IFAS imazapyr considerations (96 fl oz of 2 lb ae/gal = 1.5 lb ae/acre); units",),
        refusal=refusal,
    )


def _strength(asked: Asked) -> tuple[float, tuple[Line, ...]]:
    """lb ae/gal of the product, and how it was found."""
    value, unit = number(asked, "strength"), word(asked, "strength_unit")
    if unit not in STRENGTH_UNITS:
        raise InvalidFact(f"must be one of {', '.join(STRENGTH_UNITS)}", "strength_unit")
    lines: list[Line] = []
    if unit.startswith("g-"):
        pounds = acid.lb_per_gallon(value)
        lines.append(Line("Pounds per gallon", "g/L ÷ 119.826", f"{typed(value)} ÷ 119.826", f"{shown(pounds)} lb/gal"))
    else:
        pounds = value
    if "-ai-" not in unit:
        if asked.get("ae_ratio") is not None:
            raise InvalidFact("goes with a strength in active ingredient; this one is in acid equivalent", "ae_ratio")
        return pounds, tuple(lines)
    ratio = number(asked, "ae_ratio")
    acid_lb = acid.lb_ae_per_gallon(pounds, ratio)
    lines.append(
        Line(
            "Acid equivalent per gallon",
            "lb ai/gal × ratio",
            f"{carried(pounds)} × {typed(ratio)}",
            f"{shown(acid_lb)} lb ae/gal",
        )
    )
    return acid_lb, tuple(lines)


def _ounces(asked: Asked) -> tuple[float, tuple[Line, ...]]:
    """Product per acre: as given, or from the percent and the volume."""
    by_percent = asked.get("percent_vv") is not None
    if by_percent == (asked.get("product_fl_oz_per_acre") is not None):
        raise InvalidFact(
            "give either the product per acre, or the percent with the spray volume", "product_fl_oz_per_acre"
        )
    if not by_percent:
        return number(asked, "product_fl_oz_per_acre"), ()
    percent, carrier_gpa = number(asked, "percent_vv"), number(asked, "carrier_gpa")
    ounces = mixing.fl_oz_per_acre_of_mix(percent, carrier_gpa)
    filled = f"{typed(percent)} ÷ 100 × {typed(carrier_gpa)} × 128"
    return ounces, (Line("Product per acre", "% ÷ 100 × gal/acre × 128", filled, f"{shown(ounces)} fl oz/acre"),)


def _against_limit(asked: Asked, total: float, earlier: float, strength: float) -> tuple[tuple[Answer, ...], str]:
    """What the limit still leaves, and the refusal where the sum is above it."""
    if asked.get("most_lb_ae_per_acre") is None:
        return (), ""
    limit = number(asked, "most_lb_ae_per_acre")
    left_lb = max(0.0, limit - earlier)
    left = (
        _acid("left_lb_ae_per_acre", "The limit leaves", left_lb),
        _product("left_product_per_acre", "That is, of this product", acid.fl_oz_for_acid(left_lb, strength)),
    )
    # the same figure reached by another order of multiplication is not above the limit
    if total <= limit * (1 + 1e-9):
        return left, ""
    return left, (
        f"Above the label's limit: {shown(total)} lb ae per acre is more than {shown(limit)}. Do not apply this. "
        f"The limit leaves {shown(left_lb)} lb ae per acre on this ground."
    )


def _acid(name: str, label: str, lb_per_acre: float) -> Answer:
    return Answer(name, label, lb_per_acre, "lb ae/acre", lb_per_acre * KG_PER_HA_PER_LB_PER_ACRE, "kg ae/ha")


def _product(name: str, label: str, fl_oz_per_acre: float) -> Answer:
    ml_per_ha = fl_oz_per_acre * MILLILITRES_PER_US_FLUID_OUNCE * SQUARE_METRES_PER_HECTARE / SQUARE_METRES_PER_ACRE
    return Answer(name, label, fl_oz_per_acre, "fl oz/acre", ml_per_ha / 1000, "L/ha")
