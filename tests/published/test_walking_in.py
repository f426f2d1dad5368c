"""Tobler's walking function: https://en.wikipedia.org/wiki/Tobler%27s_hiking_function"""

import pytest

from estimating.crewday import walk_in_hours, walking_km_h
from tests.estimating import make

SAMPLES = [
    (-20, 2.00),
    (-15, 2.80),
    (-10, 3.86),
    (-5, 5.26),
    (-2.86, 6.00),
    (0, 5.04),
    (5, 3.71),
    (10, 2.72),
    (15, 1.97),
    (20, 1.41),
    (25, 0.98),
    (30, 0.67),
    (40, 0.27),
]


@pytest.mark.parametrize(("slope_deg", "km_h"), SAMPLES)
def test_it_walks_as_fast_as_the_published_samples(slope_deg, km_h):
    assert walking_km_h(slope_deg) == pytest.approx(km_h, abs=0.01)


def test_it_walks_at_six_tenths_off_path():
    assert walking_km_h(0, off_path=True) == pytest.approx(3.02, abs=0.01)


@pytest.mark.parametrize(("slope_deg", "factor"), [(-10, 1.31), (10, 1.85), (20, 3.58), (30, 7.54)])
def test_it_takes_the_derived_time_factors(slope_deg, factor):
    assert walking_km_h(0) / walking_km_h(slope_deg) == pytest.approx(factor, abs=0.01)


def test_it_walks_in_uphill_and_out_downhill():
    one_way = [1.0 / walking_km_h(slope, off_path=True) for slope in (10, -10)]
    walk = walk_in_hours(make.patches(walk_in_distance_m=[1000], walk_in_slope_deg=[10]))
    assert walk[0] == pytest.approx(sum(one_way))


def test_it_takes_measured_minutes_before_the_formula():
    walk = walk_in_hours(make.patches(walk_in_minutes=[12], walk_in_distance_m=[5000]))
    assert walk[0] == pytest.approx(0.4)
