"""Each formula against its other forms, and what it refuses. Printed examples are in tests/published."""

import inspect
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating import acid, mixing, sprayer, sprayer_metric
from estimating.errors import InvalidFact
from estimating.units import LITRES_PER_HA_PER_GALLON_PER_ACRE, LITRES_PER_US_GALLON

FIGURE = st.floats(0.01, 1000)
FUNCTIONS = [
    function
    for module in (sprayer, sprayer_metric, mixing, acid)
    for _, function in inspect.getmembers(module, inspect.isfunction)
    if function.__module__ == module.__name__
]
# Takes a list or a mapping, or any number at all.
OTHERWISE = {"nozzle_check", "acid_equivalents_lb", "millilitres"}


def numbers_of(function):
    kinds = {name: str(found.annotation) for name, found in inspect.signature(function).parameters.items()}
    return [name for name, kind in kinds.items() if "float" in kind]


CALLS = [
    (function, name) for function in FUNCTIONS if function.__name__ not in OTHERWISE for name in numbers_of(function)
]


def usual(function):
    given = dict.fromkeys(numbers_of(function), 1.0)
    return given | ({"unit": "gal"} if "unit" in inspect.signature(function).parameters else {})


@pytest.mark.parametrize(("function", "name"), CALLS, ids=lambda found: getattr(found, "__name__", found))
def test_it_refuses_a_figure_that_cannot_be(function, name):
    for wrong in (-1.0, math.nan, math.inf):
        with pytest.raises(InvalidFact):
            function(**(usual(function) | {name: wrong}))


@given(FIGURE, FIGURE, FIGURE)
def test_it_solves_the_boom_formula_for_each_figure(flow, speed, width):
    rate = sprayer.gpa(flow, speed, width)
    assert sprayer.flow_gpm(rate, speed, width) == pytest.approx(flow)
    assert sprayer.speed_mph(rate, flow, width) == pytest.approx(speed)
    assert sprayer.spray_width_in(rate, flow, speed) == pytest.approx(width)
    assert sprayer.gpa_from_ounces(flow * 128, speed, width) == pytest.approx(rate)
    assert sprayer.flow_fl_oz_per_minute(rate, speed, width) == pytest.approx(flow * 128)


@given(FIGURE, FIGURE, FIGURE)
def test_it_takes_the_width_in_feet_too(flow, speed, width_ft):
    rate = sprayer.gpa_by_feet(flow, speed, width_ft)
    assert rate == pytest.approx(sprayer.gpa(flow, speed, 12 * width_ft))
    assert sprayer.flow_gpm_by_feet(rate, speed, width_ft) == pytest.approx(flow)
    assert sprayer.speed_mph_by_feet(rate, flow, width_ft) == pytest.approx(speed)
    assert sprayer.spray_width_ft(rate, flow, speed) == pytest.approx(width_ft)


@given(FIGURE, FIGURE, FIGURE)
def test_it_solves_the_metric_formula_for_each_figure(flow, speed, width):
    rate = sprayer_metric.carrier_l_per_ha(flow, speed, width)
    assert sprayer_metric.nozzle_l_per_minute(rate, speed, width) == pytest.approx(flow)
    assert sprayer_metric.speed_km_per_hour(rate, flow, width) == pytest.approx(speed)
    assert sprayer_metric.spray_width_cm(rate, flow, speed) == pytest.approx(width)
    assert sprayer_metric.carrier_l_per_ha_by_metres(flow, speed, width / 100) == pytest.approx(rate)


@given(FIGURE, FIGURE, FIGURE)
def test_it_agrees_in_metric_and_in_us_units(flow_gpm, speed_mph, width_in):
    metric = sprayer_metric.carrier_l_per_ha(flow_gpm * LITRES_PER_US_GALLON, speed_mph * 1.609344, width_in * 2.54)
    assert metric == pytest.approx(sprayer.gpa(flow_gpm, speed_mph, width_in) * LITRES_PER_HA_PER_GALLON_PER_ACRE)


@given(FIGURE, FIGURE, FIGURE)
def test_it_finds_the_same_rate_moving_and_at_rest(caught_fl_oz, speed_mph, width_ft):
    seconds = sprayer.course_seconds(200, speed_mph)
    moving = sprayer.gpa_moving(caught_fl_oz, 200, width_ft, course_seconds=seconds)
    assert moving == pytest.approx(sprayer.gpa_stationary(caught_fl_oz, seconds, speed_mph, 12 * width_ft))
    assert sprayer.miles_per_hour(200, seconds) == pytest.approx(speed_mph)


def test_it_reads_ounces_as_gallons_on_a_course_of_its_own_length():
    course_ft = sprayer.course_length_ft_by_inches(20)
    assert course_ft == pytest.approx(204.19, abs=0.005)
    assert sprayer.gpa_moving(17, course_ft, 20 / 12) == pytest.approx(17)


def test_it_takes_the_mean_of_the_nozzles_and_a_catch_of_another_length():
    # 4 nozzles, 72 oz in 60 s; the course takes 20 s: 6 oz a nozzle on 1/128 acre.
    course_ft = sprayer.course_length_ft(2)
    assert sprayer.gpa_moving(72, course_ft, 2, course_seconds=20, catch_seconds=60, nozzles=4) == pytest.approx(6)
    assert sprayer.gpa_stationary(72, 60, 3, 20, nozzles=4) == pytest.approx(sprayer.gpa_stationary(18, 60, 3, 20))


@pytest.mark.parametrize(
    "call", [lambda: sprayer.gpa_moving(1, 1, 1, nozzles=0), lambda: sprayer.gpa_stationary(1, 1, 1, 1, nozzles=0)]
)
def test_it_wants_at_least_one_nozzle(call):
    with pytest.raises(InvalidFact, match="nozzles"):
        call()


@given(FIGURE, st.floats(1, 100), st.floats(1, 100))
def test_it_goes_by_the_root_of_the_pressure(flow, psi_1, psi_2):
    other = sprayer.flow_gpm_at_pressure(flow, psi_1, psi_2)
    assert sprayer.pressure_psi_for_flow(flow, psi_1, other) == pytest.approx(psi_2)
    assert sprayer.gpa_at_pressure(flow, psi_1, psi_2) == other
    assert sprayer_metric.l_per_minute_at_pressure(flow, psi_1, psi_2) == pytest.approx(other)


def test_it_takes_four_times_the_pressure_for_twice_the_flow():
    assert sprayer.pressure_psi_for_flow(0.2, 10, 0.4) == pytest.approx(40)
    assert sprayer.gpa_at_speed(20, 4, 5) == 16
    assert sprayer.water_gpm_for_flow(0.2, 1.21) == pytest.approx(0.22)


def test_it_covers_ground_by_width_speed_and_efficiency():
    assert sprayer.acres_per_hour(8.25, 4) == pytest.approx(4)
    assert sprayer.acres_per_hour(8.25, 4, 0.75) == pytest.approx(3)
    assert sprayer.hours_per_acre(8.25, 4, 0.5) == pytest.approx(0.5)
    assert sprayer_metric.hectares_per_hour(2.5, 4) == pytest.approx(1)


def test_it_knows_the_metric_plot_and_course():
    assert sprayer_metric.carrier_l_per_ha_from_plot(2000, 100) == 200
    assert sprayer_metric.l_per_ha(sprayer_metric.ml_per_100_m2(200)) == pytest.approx(200)
    assert sprayer_metric.l_per_minute_from_catch(400, 30) == pytest.approx(0.8)
    assert sprayer_metric.km_per_hour(100, 60) == pytest.approx(6)


def test_it_finds_the_nozzle_that_is_worn():
    found = sprayer.nozzle_check([10, 10, 10, 14])
    assert (found.mean_fl_oz, found.outside) == (11, (3,))
    assert sprayer.nozzle_check([9, 11]).outside == ()  # at the very limit
    with pytest.raises(InvalidFact, match="one nozzle"):
        sprayer.nozzle_check([])
