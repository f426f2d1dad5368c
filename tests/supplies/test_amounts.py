"""Amounts in whole microliters and milligrams."""

from decimal import Decimal

import pytest

from orders.supplies.amounts import ENTRY_UNITS, small_amount, small_unit


@pytest.mark.parametrize(
    ("value", "unit", "small"),
    [
        ("1", "L", 1_000_000),
        ("0.25", "mL", 250),
        ("1", "gal", 3_785_412),  # 231 in3 of 2.54 cm each: 3.785411784 L exactly
        ("2.5", "gal", 9_463_529),
        ("128", "fl oz", 3_785_412),
        ("4", "qt", 3_785_412),
        ("1", "lb", 453_592),  # 0.45359237 kg exactly
        ("16", "oz", 453_592),
        ("0.0005", "mL", 1),  # half a microliter goes up
    ],
)
def test_it_converts_exactly_and_rounds_once(value, unit, small):
    assert small_amount(Decimal(value), unit) == small


def test_it_tells_volume_from_mass():
    assert {unit for unit in ENTRY_UNITS if small_unit(unit) == "mg"} == {"kg", "g", "lb", "oz"}
