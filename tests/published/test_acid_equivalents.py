"""Acid equivalents: labels print g/l, lb/gal and percent; they must agree."""

import pytest

from estimating import acid
from estimating.units import KILOGRAMS_PER_POUND, litres_from_fluid_ounces, pounds_per_acre


@pytest.mark.parametrize(
    ("lb_per_gallon", "g_per_l", "label"),
    [
        (4, 480, "glyphosate IPA 41%, ai: EPA 53883-319"),
        (3, 356, "glyphosate IPA 41%, ae: EPA 53883-319"),
        (5.4, 648, "glyphosate IPA 53.8%, ai: EPA 228-381"),
        (4, 480, "glyphosate IPA 53.8%, ae: EPA 228-381"),
    ],
)
def test_it_turns_pounds_per_gallon_into_the_labels_grams_per_litre(lb_per_gallon, g_per_l, label):
    # The labels round to whole grams and to a tenth of a pound: within 1%.
    assert acid.g_per_l(lb_per_gallon) == pytest.approx(g_per_l, rel=0.01), label
    assert acid.lb_per_gallon(g_per_l) == pytest.approx(lb_per_gallon, rel=0.01), label


@pytest.mark.parametrize(
    ("lb_ai", "ae_g_per_l", "ai_g_per_l", "lb_ae"),
    [(4, 356, 480, 3), (5.4, 480, 648, 4)],
    ids=["glyphosate-41", "glyphosate-53.8"],
)
def test_it_finds_the_labels_pounds_of_acid_from_its_pounds_of_active(lb_ai, ae_g_per_l, ai_g_per_l, lb_ae):
    # The same labels; pounds are printed to the tenth.
    ratio = acid.ae_ratio(ae_g_per_l, ai_g_per_l)
    assert acid.lb_ae_per_gallon(lb_ai, ratio) == pytest.approx(lb_ae, abs=0.05)


def test_it_does_not_take_every_product_of_41_percent_for_3_pounds():
    # A label of 2002 with surfactant: 3.8 lb ai = 2.8 lb ae/gal. The strength is the product's, not the active's.
    assert acid.lb_ae_per_gallon(3.8, acid.ae_ratio(2.8, 3.8)) == pytest.approx(2.8)
    assert acid.ae_ratio(2.8, 3.8) < acid.ae_ratio(3, 4)


@pytest.mark.parametrize(
    ("percent_ae", "percent_ai"), [(44.3, 61.6), (43.46, 60.45), (60.3, 83.9)], ids=["62719-40", "60.45", "83.9"]
)
def test_it_finds_one_ratio_for_one_ester(percent_ae, percent_ai):
    # Triclopyr butoxyethyl ester on three labels (EPA 62719-40 and label texts): derived, 0.719 within 0.1%.
    assert acid.ae_ratio(percent_ae, percent_ai) == pytest.approx(0.719, rel=0.001)


def test_it_finds_the_second_acid_of_a_premix_from_the_weight_that_the_first_gives():
    # EPA 62719-260: 23.7% = 2 lb of 2,4-D and 11.9% = 1 lb of triclopyr in the same gallon; derived, within 1%.
    gallon_lb = 1 / 0.119
    assert acid.lb_per_gallon_from_percent(23.7, gallon_lb) == pytest.approx(2, rel=0.01)
    assert acid.acid_equivalents_lb(64, {"2,4-D": 2, "triclopyr": 1}) == {"2,4-D": 1.0, "triclopyr": 0.5}


def test_it_finds_1_5_pounds_in_96_ounces_of_a_2_pound_product():
    # W24: UF/IFAS imazapyr considerations, 96 fl oz an acre = 1.5 lb ae.
    assert acid.acid_equivalent_lb(96, 2) == 1.5
    assert acid.fl_oz_for_acid(1.5, 2) == 96


def test_it_finds_1_125_pounds_in_3_pints_of_a_3_pound_product():
    # Derived: 3 pints = 48 fl oz.
    assert acid.acid_equivalent_lb(48, 3) == 1.125


@pytest.mark.parametrize(
    ("percent", "lb_per_gallon", "gpa", "lb_per_acre"), [(2, 3, 40, 2.4), (5, 4, 40, 8), (20, 4, 10, 8)]
)
def test_it_finds_pounds_per_acre_of_a_percent_mix(percent, lb_per_gallon, gpa, lb_per_acre):
    # Derived in the facts from 3 and 4 lb ae/gal labels: 0.06, 0.20 and 0.8 lb in a gallon of mix.
    assert acid.lb_ae_per_acre_of_mix(percent, lb_per_gallon, gpa) == pytest.approx(lb_per_acre)
    assert acid.lb_ae_per_gallon_of_mix(percent, lb_per_gallon) == pytest.approx(lb_per_acre / gpa)


def test_it_agrees_in_metric_and_in_pounds():
    metric_kg = acid.kg_ae_per_ha(litres_from_fluid_ounces(96), acid.g_per_l(2))
    assert metric_kg == pytest.approx(1.5 * KILOGRAMS_PER_POUND, rel=1e-12)


@pytest.mark.parametrize(("kg_per_ha", "lb_per_acre"), [(8.51, 7.59), (5.60, 5.00), (0.168, 0.150)])
def test_it_turns_trial_rates_into_pounds_per_acre(kg_per_ha, lb_per_acre):
    # Yang et al. 2013, IPSM 6(3), top rates in kg/ha; pounds derived.
    assert pounds_per_acre(kg_per_ha) == pytest.approx(lb_per_acre, abs=0.005)
