"""Worked examples of mixing. Rows W.. are of the facts; so are the tables without a number."""

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from estimating import acid, mixing

NC_STATE = "https://christmastrees.ces.ncsu.edu/backpack-sprayer-calibration-worksheet/"
SLIDES = "http://slidegur.com/doc/5284/"
SHEET = "https://paperzz.com/doc/9164538/"
MINNESOTA = "https://extension.umn.edu/herbicides/how-calculate-herbicide-rates-and-calibrate-herbicide-applicators"
ENLOE = "Enloe et al. 2018, https://doi.org/10.1017/inp.2018.3; derived: a quarter of the stock"
YANG = "Yang et al. 2013, https://doi.org/10.1614/IPSM-D-13-00009.1; derived: 0.150 lb ai of a 60% product in ounces"


@dataclass(frozen=True)
class Example:
    row: str
    answer: Callable[[], float]
    printed: float
    tolerance: float  # a share of the printed answer
    source: str


EXAMPLES = (
    Example("W6", lambda: mixing.oz_per_gallon(8, 7.5), 1.06, 0.01, NC_STATE),
    Example("W7", lambda: mixing.product_in_load(8, 7.5, 3), 3.2, 0.01, NC_STATE),
    Example("W7-ml", lambda: mixing.millilitres(mixing.product_in_load(8, 7.5, 3)), 96, 0.015, NC_STATE),
    Example("W10", lambda: mixing.oz_per_gallon(mixing.fluid_ounces_of(1, "qt"), 40), 0.8, 0, SLIDES),
    Example("W10-ml", lambda: mixing.millilitres(mixing.oz_per_gallon(32, 40)), 24, 0.015, SLIDES),
    Example("W11", lambda: mixing.acres_per_load(1, 40), 1 / 40, 0, SLIDES),
    Example("W11-ft2", lambda: mixing.square_feet_per_gallon(40), 1089, 0, SLIDES),
    Example("W13", lambda: mixing.product_in_load(32, 20, 20), 32, 0, SLIDES),
    Example("W14", lambda: mixing.product_in_load(7, 100, 50), 3.5, 0, SHEET),
    Example("W17", lambda: mixing.product_mass(2, 0.80), 2.5, 0, SHEET),
    Example("W18", lambda: mixing.product_mass(3, 0.80), 3.75, 0, MINNESOTA),
    Example("W19", lambda: mixing.band_rate(3, 10, 30), 1, 0, MINNESOTA),
    Example("W22", lambda: mixing.product_for_tank(50, 0.01, 0.25), 2, 0, "structural applicator exam page; derived"),
    Example("W22-active", lambda: mixing.active_mass(50, 0.01), 0.5, 0, "structural applicator exam page"),
    Example("W23", lambda: mixing.percent_vv(2.5 / 4, 3), 20, 1 / 20, "parks system master plan 2016, p. 469"),
    Example("W23-exact", lambda: mixing.percent_vv(2.5 / 4, 3), 20.83, 0.0005, "derived: 2.5 quarts in 3 gallons"),
    Example("W24", lambda: acid.acid_equivalent_lb(96, 2), 1.5, 0, "UF/IFAS imazapyr considerations"),
    Example("cut-stem-glyphosate", lambda: mixing.mixed_concentration(480, 25, 100), 120, 0, ENLOE),
    Example("cut-stem-triclopyr", lambda: mixing.mixed_concentration(360, 25, 100), 90, 0, ENLOE),
    Example("metsulfuron", lambda: 16 * mixing.product_mass(0.150, 0.60), 4.0, 0, YANG),
)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.row)
def test_it_gives_the_printed_answer(example):
    assert example.answer() == pytest.approx(example.printed, rel=example.tolerance, abs=1e-12), example.source


@pytest.mark.parametrize(
    ("percent", "ounces"),
    [(1, 5.12), (2, 10.24), (3, 15.36), (5, 25.6), (20, 102.4), (25, 128), (33, 168.96), (50, 256)],
)
def test_it_has_the_ounces_of_a_4_gallon_tank(percent, ounces):
    # Derived: 1.28 fl oz a gallon for each percent of the whole mix; the water is the tank less the product.
    assert mixing.product_fl_oz(percent, 4) == pytest.approx(ounces, abs=1e-9)
    assert mixing.water_gal(percent, 4) * 128 == pytest.approx(512 - ounces, abs=1e-9)


def test_it_uses_the_units_as_extension_prints_them():
    # https://pested.unl.edu/math: 29.57 ml, 3.785 l, 43,560 ft2
    assert mixing.millilitres(1) == pytest.approx(29.57, abs=0.005)
    assert mixing.millilitres(mixing.fluid_ounces_of(1, "gal")) == pytest.approx(3785, abs=0.5)
    assert mixing.per_1000_square_feet(43.56) == 1
