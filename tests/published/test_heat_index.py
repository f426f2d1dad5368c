"""Heat index, National Weather Service equation (Rothfusz, SR 90-23); bands of OSHA, "Using the Heat Index"."""

import pytest

from estimating.errors import InvalidFact
from estimating.heat import ACTIONS, BANDS, heat_index_f, heat_risk
from estimating.units import celsius

# Air °F, humidity %, the equation's value with its adjustments, °F: computed from the published coefficients.
COMPUTED = [
    (90, 70, 105.92),
    (90, 50, 94.60),
    (90, 40, 90.68),
    (96, 50, 107.64),
    (100, 40, 109.26),
    (100, 55, 123.64),
    (110, 40, 135.66),
    (88, 90, 113.25),
    (86, 90, 105.39),
    (95, 10, 89.45),
    (80, 100, 89.29),
]


@pytest.mark.parametrize(("air_f", "humidity", "felt_f"), COMPUTED)
def test_it_has_each_value_of_the_equation(air_f, humidity, felt_f):
    assert heat_index_f(air_f, humidity) == pytest.approx(felt_f, abs=0.006)


def test_it_uses_the_simple_form_where_it_is_mild():
    assert heat_index_f(75, 60) == pytest.approx(75.02, abs=0.5)  # the wording allows a further averaging with T


@pytest.mark.parametrize(("air_f", "humidity"), [(80, 45), (81, 40), (79, 60)])
def test_it_steps_little_where_the_forms_meet(air_f, humidity):
    below, above = heat_index_f(air_f - 0.5, humidity), heat_index_f(air_f + 0.5, humidity)
    assert 0 < above - below < 2.5


@pytest.mark.parametrize(("humidity", "air"), [(-1, 90), (101, 90), (50, float("nan")), (float("nan"), 90)])
def test_it_refuses_what_is_no_reading(humidity, air):
    with pytest.raises(InvalidFact):
        heat_index_f(air, humidity)


def _band(felt_f, **more):
    """The band where the heat index is exactly so much: found by the air temperature at 40% humidity."""
    low, high = 60.0, 130.0
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if heat_index_f(middle, 40) < felt_f else (low, middle)
    return heat_risk(celsius(high), 40, **more).band


@pytest.mark.parametrize(
    ("felt_f", "band"),
    [
        (85, "lower"),
        (90.9, "lower"),
        (91, "moderate"),
        (102.9, "moderate"),
        (103, "high"),
        (114.9, "high"),
        (115, "very_high"),
        (125, "very_high"),
    ],
)
def test_it_assigns_an_edge_to_the_higher_band(felt_f, band):
    assert _band(felt_f) == band


def test_it_adds_15_degrees_for_full_sun():
    shade, sun = heat_risk(30, 50), heat_risk(30, 50, full_sun=True)
    assert (sun.felt_c - shade.felt_c) * 9 / 5 == pytest.approx(15)
    assert sun.heat_index_c == shade.heat_index_c
    assert _band(92, full_sun=True) == "high"


def test_it_counts_strenuous_work_as_the_next_band():
    assert _band(95, strenuous=True) == "high"
    assert _band(120, strenuous=True) == "very_high"
    assert heat_risk(5, 40, strenuous=True).band == "none"


def test_it_says_what_to_do_in_every_band_that_is_hot():
    assert [bool(ACTIONS[name]) for name, _ in BANDS] == [False, True, True, True, True]
    assert "another_day" in heat_risk(celsius(110), 40).actions
