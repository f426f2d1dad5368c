"""How the pages write measures: US units first, as crews here use them, metric where it is computed with.

A figure that others are computed from is written with six significant digits, so that a pencil gets the same result.
"""

import re
from decimal import Decimal

from django import template

from estimating import units
from orders.supplies.amounts import MICROLITERS, small_amount, small_unit

register = template.Library()

MINUS = "\N{MINUS SIGN}"
NOT_KNOWN = "not known"
# Below this many acres people think in square feet.
SQUARE_FEET_BELOW_ACRES = 0.1
FLUID_OUNCES_BELOW_GALLONS = 0.5
METRIC = ("L", "mL", "kg", "g")


def _grouped(value: float, decimals: int) -> str:
    text = f"{abs(value):,.{decimals}f}"
    return f"{MINUS}{text}" if value < 0 and float(text.replace(",", "")) else text


@register.filter
def decimals(value: float | None, count: int = 2) -> str:
    """1234.5 -> 1,234.50"""
    return NOT_KNOWN if value is None else _grouped(float(value), int(count))


@register.filter
def dollars(amount: float) -> str:
    """Of a mean or a range, which no cent belongs to: whole dollars."""
    text = _grouped(amount, 0)
    return f"{MINUS}${text.removeprefix(MINUS)}" if text.startswith(MINUS) else f"${text}"


@register.filter
def digits(value: float | None) -> str:
    """Six significant digits, without an exponent: 0.318412, 1,204.5, 12."""
    if value is None:
        return NOT_KNOWN
    number = float(value)
    if number == 0:
        return "0"
    places = max(0, 5 - _magnitude(number))
    text = _grouped(number, min(places, 12))
    return text.rstrip("0").rstrip(".") if "." in text else text


def _magnitude(number: float) -> int:
    return int(f"{abs(number):e}".partition("e")[2])


@register.filter
def area(area_m2: float | None) -> str:
    """Acres, or square feet where it is small."""
    if area_m2 is None:
        return NOT_KNOWN
    acres = units.acres(area_m2)
    if acres < SQUARE_FEET_BELOW_ACRES:
        return f"{_grouped(area_m2 / units.SQUARE_METRES_PER_SQUARE_FOOT, 0)} sq ft"
    return f"{_grouped(acres, 2)} ac"


@register.filter
def volume(volume_l: float | None) -> str:
    """Gallons, or fluid ounces where it is small."""
    if volume_l is None:
        return NOT_KNOWN
    gallons = units.gallons(volume_l)
    if gallons < FLUID_OUNCES_BELOW_GALLONS:
        ounces = units.fluid_ounces(volume_l)
        return f"{_grouped(ounces, 1 if ounces >= 1 or ounces == 0 else 2)} fl oz"
    return f"{_grouped(gallons, 2)} gal"


@register.filter
def milliliters(volume_ml: float | None) -> str:
    """Fluid ounces or gallons, with milliliters behind."""
    if volume_ml is None:
        return NOT_KNOWN
    return f"{volume(volume_ml / 1000)} ({_grouped(volume_ml, 0 if volume_ml >= 10 or volume_ml == 0 else 1)} mL)"


@register.filter
def metric_volume(volume_l: float) -> str:
    """Milliliters, or liters from one on."""
    if abs(volume_l) >= 1:
        return f"{_grouped(volume_l, 2)} L"
    return f"{_grouped(volume_l * 1000, 0 if abs(volume_l) >= 0.01 or volume_l == 0 else 1)} mL"


def product_volume(microliters: int) -> str:
    """-1500000 -> −50.7 fl oz (−1.50 L)"""
    sign = MINUS if microliters < 0 else ""
    return f"{sign}{volume(abs(microliters) / 1_000_000)} ({metric_volume(microliters / 1_000_000)})"


def product_mass(milligrams: int) -> str:
    """250000 -> 8.8 oz (250 g)"""
    sign, grams = MINUS if milligrams < 0 else "", abs(milligrams) / 1000
    pounds = grams / 1000 / units.KILOGRAMS_PER_POUND
    us = f"{_grouped(pounds, 2)} lb" if pounds >= 1 else f"{_grouped(pounds * 16, 1 if pounds >= 1 / 16 else 2)} oz"
    metric = f"{_grouped(grams / 1000, 2)} kg" if grams >= 1000 else f"{_grouped(grams, 0 if grams >= 10 else 1)} g"
    return f"{sign}{us} ({sign}{metric})"


@register.simple_tag
def as_entered(value: Decimal, unit: str) -> str:
    """An amount in the unit that was typed; a metric one with US units behind: 112 mL (3.8 fl oz)"""
    typed = f"{value.normalize():,f} {unit}"
    if unit not in METRIC:
        return typed
    written = product_volume if small_unit(unit) == MICROLITERS else product_mass
    return f"{typed} ({written(small_amount(value, unit)).partition(' (')[0]})"


@register.filter
def debris(volume_m3: float | None) -> str:
    """Cubic yards, as trucks and bins are sold."""
    if volume_m3 is None:
        return NOT_KNOWN
    return f"{_grouped(volume_m3 / (3 * units.METRES_PER_FOOT) ** 3, 2)} cu yd"


@register.filter
def feet(length_m: float | None) -> str:
    return NOT_KNOWN if length_m is None else f"{_grouped(length_m / units.METRES_PER_FOOT, 0)} ft"


@register.filter
def percent(share: float | None) -> str:
    """0.3 -> 30%"""
    if share is None:
        return NOT_KNOWN
    text = _grouped(100 * share, 1)
    return f"{text.removesuffix('.0')}%"


FACTOR_NAMES = {
    "gross_area_m2": "gross area",
    "infested_area_m2": "infested area",
    "rooting_debris_m3": "debris that roots again",
    "stems_small": "small stems",
    "stems_medium": "medium stems",
    "stems_large": "large stems",
    "stem_diameter_cm": "stem diameters",
    "spray_volume_l": "mix to apply",
    "slope_deg": "slope, degrees",
    "height_m": "height of the vines, m",
    "cut_height_m": "height of the upper cut, m",
    "repeat_year": "treatment year",
    "wet_ground": "wet ground",
    "ground": "ground",
    "evergreen_natives": "evergreen natives to spare",
}


@register.filter
def factor_name(code: str) -> str:
    return FACTOR_NAMES.get(code) or unit_words(code.replace("_", " "))


UNIT_SIGNS = {"l": "L", "ml": "mL", "m2": "m²", "m3": "m³"}


@register.filter
def unit_words(text: str) -> str:
    """As people write units: min/l -> min/L, m3 loose per m2 of canopy -> m³ loose per m² of canopy."""
    return re.sub(r"\b(?:l|ml|m2|m3)\b", lambda found: UNIT_SIGNS[found[0]], text)
