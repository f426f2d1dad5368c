"""Published answers about loaded rates, match and mileage."""

from fractions import Fraction

import pytest

from estimating.burden import loaded_rate_e4, loaded_year, match_cents
from estimating.pricing import mileage_cents, to_cents
from estimating.volunteer_value import HOUR_CENTS


def test_it_loads_a_year():
    # University of North Carolina, OSR 300.7: salary 150,000, fringe 19% = 28,500, health 4,293: 182,793; 46% on top
    # = 84,085 (84,084.78): 266,878.
    year = loaded_year(Fraction(150_000), fringe_e4=1_900, yearly_cents=4_293_00, indirect_e4=4_600)
    assert year.direct == 182_793
    assert (year.indirect, round(year.indirect)) == (Fraction("84084.78"), 84_085)
    assert round(year.total) == 266_878


def test_it_divides_by_productive_hours():
    # The same over 1,696 productive hours (published); the quotient $157.36 is computed.
    year = loaded_year(Fraction(150_000), fringe_e4=1_900, yearly_cents=4_293_00, indirect_e4=4_600)
    assert to_cents(year.an_hour(1_696)) == 157_36


def test_it_loads_an_hour_of_the_same_year():
    # The same without the 46%: 182,793 / 1,696 = 107.7789 (computed), from the wage of 150,000 / 2,080 an hour.
    assert loaded_rate_e4(721_154, fringe_e4=1_900, yearly_cents=4_293_00, productive_hours=1_696) == 1_077_789


def test_it_counts_a_volunteers_time():
    # 2 CFR 200.306(e): rates of the program's own pay, fringe included; 6.5 x 17.25 x 1.09 = 122.2163 (computed).
    assert match_cents(390, 172_500, 900) == 122_22


@pytest.mark.parametrize(
    ("rate_e4", "cents"),
    # 42.6 mi at the standard mileage rates of 2025 (70 cents) and 2026 (72.5 cents): 29.82, and 30.885 half up.
    [(7_000, 29_82), (7_250, 30_89)],
)
def test_it_pays_a_drive_at_the_rate_of_its_day(rate_e4, cents):
    assert mileage_cents(42_600, rate_e4) == cents


@pytest.mark.parametrize(
    ("year", "cents"),
    # The national series of the value of volunteer time: years found; 2022 and later are from memory.
    [
        (2001, 16_27),
        (2008, 20_25),
        (2009, 20_85),
        (2014, 23_07),
        (2015, 23_56),
        (2018, 25_43),
        (2019, 27_20),
        (2020, 28_54),
        (2021, 29_95),
        (2022, 31_80),
        (2023, 33_49),
        (2024, 34_79),
    ],
)
def test_it_looks_up_what_an_hour_of_impact_is_worth(year, cents):
    assert HOUR_CENTS[year] == cents
