"""Acid equivalents: labels print g/l, lb/gal and percent; they must agree."""

import pytest

from estimating.materials import acid_equivalent_kg
from estimating.sprayer import acid_equivalent_lb, product_fl_oz
from estimating.units import (
    GRAMS_PER_LITRE_PER_LB_PER_GALLON,
    KILOGRAMS_PER_POUND,
    litres_from_fluid_ounces,
    pounds_per_acre,
)


@pytest.mark.parametrize(
    ("lb_per_gallon", "g_per_l", "label"),
    [
        (4, 480, "glyphosate IPA 41 %, ai: EPA 53883-319"),
        (3, 356, "glyphosate IPA 41 %, ae: EPA 53883-319"),
        (5.4, 648, "glyphosate IPA 53.8 %, ai: EPA 228-381"),
        (4, 480, "glyphosate IPA 53.8 %, ae: EPA 228-381"),
    ],
)
def test_it_turns_pounds_per_gallon_into_the_labels_grams_per_litre(lb_per_gallon, g_per_l, label):
    # The labels round to whole grams and to a tenth of a pound: within 1 %.
    assert lb_per_gallon * GRAMS_PER_LITRE_PER_LB_PER_GALLON == pytest.approx(g_per_l, rel=0.01), label


def test_it_finds_1_5_pounds_in_96_ounces_of_a_2_pound_product():
    # UF/IFAS imazapyr considerations: 96 fl oz an acre = 1.5 lb ae.
    assert acid_equivalent_lb(96, 2) == 1.5


def test_it_finds_1_125_pounds_in_3_pints_of_a_3_pound_product():
    # Derived: 3 pints = 48 fl oz.
    assert acid_equivalent_lb(48, 3) == 1.125


@pytest.mark.parametrize(
    ("percent", "lb_per_gallon", "gpa", "lb_per_acre"), [(2, 3, 40, 2.4), (5, 4, 40, 8), (20, 4, 10, 8)]
)
def test_it_finds_pounds_per_acre_of_a_percent_mix(percent, lb_per_gallon, gpa, lb_per_acre):
    # Derived in the facts from 3 and 4 lb ae/gal labels.
    assert acid_equivalent_lb(product_fl_oz(percent, gpa), lb_per_gallon) == pytest.approx(lb_per_acre)


def test_it_agrees_in_metric_and_in_pounds():
    metric_kg = acid_equivalent_kg(litres_from_fluid_ounces(96), 2 * GRAMS_PER_LITRE_PER_LB_PER_GALLON)
    assert metric_kg == pytest.approx(1.5 * KILOGRAMS_PER_POUND, rel=1e-12)


@pytest.mark.parametrize(("kg_per_ha", "lb_per_acre"), [(8.51, 7.59), (5.60, 5.00), (0.168, 0.150)])
def test_it_turns_trial_rates_into_pounds_per_acre(kg_per_ha, lb_per_acre):
    # Yang et al. 2013, IPSM 6(3), top rates in kg/ha; pounds derived.
    assert pounds_per_acre(kg_per_ha) == pytest.approx(lb_per_acre, abs=0.005)
