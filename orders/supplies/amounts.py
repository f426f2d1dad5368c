"""Amounts of product: what was typed, and the whole number of microliters or milligrams that is summed.

Sums for the law are integers, so that a total does not depend on the order of its parts.
"""

from decimal import ROUND_HALF_UP, Decimal

MICROLITERS = "uL"
MILLIGRAMS = "mg"
_SMALL_A_LARGE = 1_000_000  # microliters of a liter, milligrams of a kilogram

# Exact by definition: US gallon = 231 cubic inches, fluid ounce = 1/128 gallon, avoirdupois pound = 0.45359237 kg.
# In the order in which they are offered: crews and suppliers tell US measures.
_SMALL_UNITS: dict[str, tuple[str, Decimal]] = {
    "gal": (MICROLITERS, Decimal("3785411.784")),
    "qt": (MICROLITERS, Decimal("946352.946")),
    "fl oz": (MICROLITERS, Decimal("29573.5295625")),
    "lb": (MILLIGRAMS, Decimal("453592.37")),
    "oz": (MILLIGRAMS, Decimal("28349.523125")),
    "L": (MICROLITERS, Decimal(1_000_000)),
    "mL": (MICROLITERS, Decimal(1_000)),
    "kg": (MILLIGRAMS, Decimal(1_000_000)),
    "g": (MILLIGRAMS, Decimal(1_000)),
}
ENTRY_UNITS = tuple(_SMALL_UNITS)


def small_unit(entered_unit: str) -> str:
    """`uL` for a unit of volume, `mg` for one of mass; KeyError where the unit is not known."""
    return _SMALL_UNITS[entered_unit][0]


def small_amount(value: Decimal, entered_unit: str) -> int:
    """The amount in its small unit, rounded half up to a whole one."""
    return int((value * _SMALL_UNITS[entered_unit][1]).to_integral_value(ROUND_HALF_UP))


def price_of_large(price: Decimal, entered_unit: str) -> Decimal:
    """A price of one entered unit as one of a liter or kilogram."""
    return price * _SMALL_A_LARGE / _SMALL_UNITS[entered_unit][1]
