"""Wind chill, National Weather Service 2001: rows of its published chart, which rounds the formula."""

import pytest

from estimating.cold import ACTIONS, BANDS, cold_risk, wind_chill_f
from estimating.errors import InvalidFact
from estimating.units import celsius, metres_a_second

WINDS_MPH = (5, 10, 15, 20, 25, 30, 40, 60)
CHART = {
    40: (36, 34, 32, 30, 29, 28, 27, 25),
    25: (19, 15, 13, 11, 9, 8, 6, 3),
    10: (1, -4, -7, -9, -11, -12, -15, -19),
    0: (-11, -16, -19, -22, -24, -26, -29, -33),
    -5: (-16, -22, -26, -29, -31, -33, -36, -40),
}
CELLS = [(air, wind, felt) for air, row in CHART.items() for wind, felt in zip(WINDS_MPH, row, strict=True)]


@pytest.mark.parametrize(("air_f", "wind_mph", "felt_f"), CELLS)
def test_it_has_each_cell_of_the_chart(air_f, wind_mph, felt_f):
    assert round(wind_chill_f(air_f, wind_mph)) == felt_f


@pytest.mark.parametrize(("air_f", "wind_mph"), [(51, 20), (40, 2.9), (30, 0)])
def test_it_is_the_air_temperature_outside_the_formulas_range(air_f, wind_mph):
    assert wind_chill_f(air_f, wind_mph) == air_f


def test_it_refuses_what_is_no_reading():
    with pytest.raises(InvalidFact):
        wind_chill_f(20, -1)
    with pytest.raises(InvalidFact):
        wind_chill_f(float("nan"), 10)


@pytest.mark.parametrize(
    ("air_f", "wind_mph", "band"),
    [
        (60, 30, "none"),
        (40.1, 0, "none"),
        (40, 0, "cold"),
        (0, 0, "very_cold"),
        (-18, 0, "frostbite"),
        (-17.9, 0, "very_cold"),
        (0, 15, "frostbite"),  # the chart's -19 at 15 mph: frostbite within 30 minutes
    ],
)
def test_it_warns_of_frostbite_from_18_below(air_f, wind_mph, band):
    assert cold_risk(celsius(air_f), metres_a_second(wind_mph)).band == band


def test_it_says_what_to_do_in_every_band_that_is_cold():
    assert [bool(ACTIONS[name]) for name, _ in BANDS] == [False, True, True, True]
