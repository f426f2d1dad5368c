"""Each formula against its other forms. Printed examples are in tests/published, refusals in test_sprayer.py."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating import acid, mixing
from estimating.errors import InvalidFact
from estimating.units import KG_PER_HA_PER_LB_PER_ACRE, LITRES_PER_HA_PER_GALLON_PER_ACRE

FIGURE = st.floats(0.01, 1000)
PERCENT = st.floats(0.01, 99)


@pytest.mark.parametrize(("amount", "unit", "fl_oz"), [(2, "pt", 32), (3, "tsp", 0.5), (1, "cup", 8), (2, "tbsp", 1)])
def test_it_knows_the_kitchen_measures(amount, unit, fl_oz):
    assert mixing.fluid_ounces_of(amount, unit) == pytest.approx(fl_oz)


def test_it_names_the_measures_when_one_is_unknown():
    with pytest.raises(InvalidFact, match="gal, qt, pt"):
        mixing.fluid_ounces_of(1, "jigger")


@given(PERCENT)
def test_it_tells_percent_of_the_mix_from_percent_of_the_water(percent):
    of_water = mixing.percent_of_water_from_vv(percent)
    assert of_water > percent
    assert mixing.percent_vv_from_water(of_water) == pytest.approx(percent)
    product, water = mixing.product_fl_oz(percent, 10), mixing.water_gal(percent, 10) * 128
    assert mixing.percent_of_water(product, water) == pytest.approx(of_water)
    assert mixing.percent_vv(product, product + water) == pytest.approx(percent)


def test_it_adds_to_the_water_what_the_sheet_counts_of_the_water():
    assert mixing.product_fl_oz_for_water(25, 4) == 128
    assert mixing.percent_vv(128, 5 * 128) == 20
    assert mixing.percent_vv_from_parts(1, 4) == 20


@given(FIGURE, FIGURE)
def test_it_turns_a_rate_by_area_into_a_percent_and_back(fl_oz_per_acre, carrier_gpa):
    ounces = min(fl_oz_per_acre, 100 * carrier_gpa)
    percent = mixing.percent_vv_of_area_rate(ounces, carrier_gpa)
    assert mixing.fl_oz_per_acre_of_mix(percent, carrier_gpa) == pytest.approx(ounces)


@given(FIGURE, FIGURE, st.floats(0.01, 1))
def test_it_dilutes_as_the_balance_of_the_active_says(strength, volume, share):
    wanted = strength * share
    made = mixing.mix_volume_from(strength, volume, wanted)
    assert mixing.mixed_concentration(strength, volume, made) == pytest.approx(wanted)
    assert mixing.concentrate_volume(wanted, made, strength) == pytest.approx(volume)


@pytest.mark.parametrize(
    "call",
    [
        lambda: mixing.concentrate_volume(30, 1, 25),
        lambda: mixing.mix_volume_from(25, 1, 30),
        lambda: mixing.mixed_concentration(25, 2, 1),
        lambda: mixing.percent_vv(5, 4),
        lambda: mixing.band_rate(3, 40, 30),
    ],
)
def test_it_refuses_a_part_that_is_more_than_the_whole(call):
    with pytest.raises(InvalidFact):
        call()


def test_it_counts_parts_per_million_by_weight():
    # 100 gal of water weigh 834 lb: 10 ppm are 0.00834 lb.
    assert mixing.product_lb_for_ppm(10, 100) == pytest.approx(0.00834)
    assert mixing.product_lb_for_ppm(10, 100, 0.5) == pytest.approx(0.01668)
    assert mixing.product_gallons_for_ppm(10, 100, 2) == pytest.approx(0.00417)
    assert mixing.ppm_in_gallons(0.00834, 100) == pytest.approx(10)
    assert mixing.active_lb_for_ppm_in_acre_feet(1, 1) == pytest.approx(2.72, abs=0.005)
    assert mixing.active_g_for_ppm(10, 1000) == pytest.approx(10)


def test_it_turns_areas_bands_and_hundreds_of_gallons():
    assert mixing.per_acre(mixing.per_1000_square_feet(64)) == pytest.approx(64)
    assert mixing.broadcast_rate(mixing.band_rate(3, 10, 30), 10, 30) == pytest.approx(3)
    assert mixing.in_load_per_100_gallons(32, 25) == 8
    assert mixing.gallons_for_area(0.5, 40) == 20
    assert mixing.active_mass(mixing.product_mass(2, 0.8), 0.8) == pytest.approx(2)
    assert mixing.product_gallons(3, 4) == 0.75


def test_it_mixes_in_metric():
    assert mixing.product_ml(2, 15) == 300
    assert mixing.product_in_load_metric(5.6, 280, 15) == pytest.approx(0.3)
    assert mixing.hectares_per_load(15, 300) == pytest.approx(0.05)


@given(FIGURE, PERCENT, FIGURE)
def test_it_finds_the_same_acid_in_metric_and_in_us_units(strength_lb_gal, percent, carrier_gpa):
    lb_per_acre = acid.lb_ae_per_acre_of_mix(percent, strength_lb_gal, carrier_gpa)
    product_l_per_ha = percent / 100 * carrier_gpa * LITRES_PER_HA_PER_GALLON_PER_ACRE
    kg_per_ha = acid.kg_ae_per_ha(product_l_per_ha, acid.g_per_l(strength_lb_gal))
    assert kg_per_ha == pytest.approx(lb_per_acre * KG_PER_HA_PER_LB_PER_ACRE)
    assert acid.l_per_ha_for_acid(kg_per_ha, acid.g_per_l(strength_lb_gal)) == pytest.approx(product_l_per_ha)


def test_it_finds_the_same_acid_in_another_product():
    volume = acid.same_acid_volume(64, 3, 4)
    assert volume == 48
    assert acid.acid_equivalent_lb(volume, 4) == acid.acid_equivalent_lb(64, 3)


def test_it_finds_the_share_of_acid_by_molecular_weights():
    # Weights from memory: glyphosate 169.07, its isopropylamine salt 228.19.
    assert acid.ae_ratio_by_weights(169.07, 228.19) == pytest.approx(0.7409, abs=0.0001)
    assert acid.ae_ratio_by_weights(169.07, 228.19, less_hydrogen=True) == pytest.approx(168.07 / 228.19)
    assert acid.g_ae_per_l(480, 0.75) == 360
    with pytest.raises(InvalidFact, match="at most 1"):
        acid.ae_ratio(480, 356)


def test_it_weighs_a_gallon_by_its_specific_gravity():
    assert acid.lb_per_gallon_from_percent(44.3, acid.product_lb_per_gallon(1.08)) == pytest.approx(3.99, abs=0.005)
