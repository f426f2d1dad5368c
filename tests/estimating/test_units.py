"""Constants against their exact definitions (international yard and pound of 1959; US gallon of 231 cubic inches)."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating import units

FOOT_M = Fraction(3048, 10_000)


@pytest.mark.parametrize(
    ("constant", "exact"),
    [
        (units.SQUARE_METRES_PER_ACRE, 4840 * Fraction(9144, 10_000) ** 2),
        (units.SQUARE_METRES_PER_ACRE, 43_560 * FOOT_M**2),
        (units.LITRES_PER_US_GALLON, 231 * Fraction(254, 10_000) ** 3 * 1000),
        (units.MILLILITRES_PER_US_FLUID_OUNCE, 231 * Fraction(254, 10_000) ** 3 * 1_000_000 / 128),
        (units.SQUARE_METRES_PER_SQUARE_FOOT, FOOT_M**2),
        (units.METRES_PER_MILE, 5280 * FOOT_M),
        (units.METRES_PER_FOOT, FOOT_M),
        (units.METRES_PER_INCH, FOOT_M / 12),
    ],
)
def test_it_has_exact_constants(constant, exact):
    assert constant == float(exact)


def test_it_has_the_international_acre_and_not_the_survey_acre():
    assert units.SQUARE_METRES_PER_ACRE == 4046.8564224


@pytest.mark.parametrize(
    ("found", "published", "tolerance"),
    [
        (units.ACRES_PER_HECTARE, 2.471, 1e-3),
        (units.MILLILITRES_PER_US_FLUID_OUNCE, 29.57, 1e-2),
        (units.LITRES_PER_US_GALLON, 3.785, 1e-3),
        (units.KG_PER_HA_PER_LB_PER_ACRE, 1.12085, 1e-5),
    ],
)
def test_it_agrees_with_what_extension_prints(found, published, tolerance):
    # UNL Extension, https://pested.unl.edu/math
    assert found == pytest.approx(published, abs=tolerance)


@given(st.floats(-80, 130))
def test_it_turns_temperatures_back(degrees):
    assert units.celsius(units.fahrenheit(degrees)) == pytest.approx(degrees, abs=1e-9)


def test_it_knows_the_labels_temperatures():
    assert units.celsius(40) == pytest.approx(4.44, abs=0.01)
    assert units.fahrenheit(10) == 50


@pytest.mark.parametrize(
    ("there", "back"),
    [
        (units.acres, units.area_m2_from_acres),
        (units.gallons, units.litres_from_gallons),
        (units.fluid_ounces, units.litres_from_fluid_ounces),
    ],
)
def test_it_converts_there_and_back(there, back):
    assert back(there(123.4)) == pytest.approx(123.4)


def test_it_turns_carrier_volume_into_gallons_per_acre():
    assert units.gallons_per_acre(280.5) == pytest.approx(30, abs=0.02)
