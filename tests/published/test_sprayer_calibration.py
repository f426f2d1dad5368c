"""Worked examples of sprayer calibration and mixing, and two printed examples that are wrong."""

import pytest

from estimating import sprayer
from estimating.errors import InvalidFact

NC_STATE = "https://christmastrees.ces.ncsu.edu/backpack-sprayer-calibration-worksheet/"
SLIDES = "http://slidegur.com/doc/5284/"
SPRAYER_SHEET = "https://paperzz.com/doc/9164538/"


def test_it_reads_ounces_on_the_plot_as_gallons_per_acre():
    # UF/IFAS Alachua 2022-02-04, https://blogs.ifas.ufl.edu/alachuaco/2022/02/04/ (the 1/128th rule)
    assert sprayer.gpa_128(25) == 25


@pytest.mark.parametrize(("ounces", "source"), [(40, SLIDES), (100, SPRAYER_SHEET)])
def test_it_reads_a_plot_of_18_5_by_18_5_feet_within_1_percent(ounces, source):
    assert sprayer.gpa_128(ounces, 18.5 * 18.5) == pytest.approx(ounces, rel=0.01), source


def test_it_finds_the_course_for_a_6_foot_spray_width():
    assert sprayer.course_length_ft(6) == pytest.approx(57, abs=1), NC_STATE
    assert round(57 / 5, 1) == 11.4  # trees on the course, same worksheet


def test_it_finds_ounces_for_a_gallon_and_for_a_backpack():
    assert sprayer.oz_per_gallon(8, 7.5) == pytest.approx(1.06, rel=0.01), NC_STATE
    in_backpack = sprayer.product_oz_in_load(8, 7.5, 3)
    assert in_backpack == pytest.approx(3.2, rel=0.01)
    assert sprayer.millilitres(in_backpack) == pytest.approx(96, rel=0.015)


def test_it_finds_gallons_per_acre_from_a_lawn_plot():
    # NAFEX list post 2009, https://lists.ibiblio.org/sympa/nomenu/arc/nafex/2009-03/msg00314.html
    assert sprayer.gpa_128(1.5 * 128, 1000) == pytest.approx(65, rel=0.01)


def test_it_mixes_a_quart_an_acre_at_40_gallons():
    assert sprayer.oz_per_gallon(32, 40) == pytest.approx(0.8), SLIDES
    assert sprayer.millilitres(0.8) == pytest.approx(24, rel=0.015)
    assert sprayer.square_feet_per_gallon(40) == 1089


def test_it_mixes_32_ounces_an_acre_at_20_gallons_and_a_50_gallon_load():
    assert sprayer.product_oz_in_load(32, 20, 20) == 32, SLIDES
    assert sprayer.product_oz_in_load(7, 100, 50) == 3.5, SPRAYER_SHEET


def test_it_weighs_powder_of_80_percent():
    assert sprayer.product_mass(2, 0.80) == 2.5, SPRAYER_SHEET
    # Univ. of Minnesota Extension, https://extension.umn.edu/herbicides/how-calculate-herbicide-rates-and-calibrate-herbicide-applicators
    assert sprayer.product_mass(3, 0.80) == pytest.approx(3.75)


def test_it_takes_a_band_as_its_share_of_the_ground():
    # Same page of Univ. of Minnesota Extension: 3 lb/ac broadcast, a 10 in band on 30 in rows.
    assert sprayer.band_rate(3, 10, 30) == pytest.approx(1.0)


def test_it_mixes_a_25_percent_concentrate_to_1_percent_in_50_gallons():
    # Structural applicator exam page; the final 2.0 gallons are derived.
    assert sprayer.product_for_tank(50, 0.01, 0.25) == pytest.approx(2.0)


def test_it_finds_2_5_quarts_in_3_gallons_a_fifth_within_a_point():
    # A parks system master plan of 2016, p. 469, calls it a 20 % mix.
    assert sprayer.percent_vv(2.5 / 4, 3) == pytest.approx(20, abs=1)


@pytest.mark.parametrize(
    ("percent", "ounces"),
    [(1, 5.12), (2, 10.24), (3, 15.36), (5, 25.6), (20, 102.4), (25, 128), (33, 168.96), (50, 256)],
)
def test_it_has_the_ounces_of_a_4_gallon_tank(percent, ounces):
    # Derived: 1.28 fl oz a gallon for each percent of the whole mix.
    assert sprayer.product_fl_oz(percent, 4) == pytest.approx(ounces, abs=1e-9)


def test_it_knows_the_metric_nozzle_formula():
    # q = Q V W / 60,000 (a CRAN manual): 190 l/ha, 10 km/h, 50 cm.
    assert sprayer.nozzle_l_per_minute(190, 10, 50) == pytest.approx(1.5833, rel=0.001)


def test_it_finds_hours_per_acre_from_width_and_speed():
    # DOT roadside vegetation guide p. 76, https://daveytree.uberflip.com/i/795219-odot-guide-for-rivm/75
    assert sprayer.hours_per_acre(8, 2) == pytest.approx(0.5146, rel=0.005)


def test_it_finds_20_gallons_an_acre_from_a_boom():
    # 5940 x 3.75 / (5 x 222); University of Missouri Extension G1270a prints the formula.
    assert sprayer.gpa(3.75, 5, 222) == pytest.approx(20, rel=0.01)


@pytest.mark.parametrize(("gallons_per_minute", "right"), [(0.15, 3.71), (20 / 128, 3.87)])
def test_it_does_not_repeat_the_327_gallons_of_an_exam_book(gallons_per_minute, right):
    # Florida exam book p. 213, Method I, forgot the 88 feet a minute in each mile an hour.
    assert sprayer.gpa(gallons_per_minute, 5, 48) == pytest.approx(right, abs=0.005)


def test_it_does_not_take_a_plot_of_8_5_by_18_5_feet_for_the_128th():
    # UF/IFAS Alachua prints 8.5 x 18.5 ft, 157 square feet; it should be 18.5 x 18.5.
    assert sprayer.gpa_128(25, 8.5 * 18.5) > 2 * 25


@pytest.mark.parametrize("call", [lambda: sprayer.gpa(1, 0, 20), lambda: sprayer.gpa_128(25, 0)])
def test_it_refuses_to_divide_by_nothing(call):
    with pytest.raises(InvalidFact, match="above 0"):
        call()
