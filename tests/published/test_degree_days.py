"""Degree days of published examples, and of one station's daily rows in the University of California's own output."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.degree_days import fahrenheit_days, modified, simple, single_sine
from estimating.errors import InvalidFact
from estimating.units import celsius

BASE_C = 10.0  # 50 °F

# low °F, high °F, simple with base 50 (None: the source says nothing), modified 86/50, source.
# "derived": worked out by hand from the published formula.
ROWS = [
    (65, 90, 27.5, 25.5, "wausharaargus.com, growing degree days; simple derived"),
    (46, 72, 9.0, 11.0, "wausharaargus.com, growing degree days"),
    (56, 80, 18.0, 18.0, "Kansas Corn, growing degree days"),
    (50, 70, 10.0, 10.0, "Iowa State University, growing degree days"),
    (48, 90, 19.0, 18.0, "derived"),
    (40, 48, 0.0, 0.0, "derived"),
    (88, 95, None, 36.0, "derived; the most a day can have, Iowa State University"),
    (30, 60, 0.0, None, "derived"),
]


@pytest.mark.parametrize(("low_f", "high_f", "plain", "source"), [(row[0], row[1], row[2], row[4]) for row in ROWS])
def test_it_has_the_simple_degree_days(low_f, high_f, plain, source):
    if plain is not None:
        assert fahrenheit_days(float(simple(celsius(low_f), celsius(high_f), BASE_C))) == pytest.approx(plain), source


@pytest.mark.parametrize(("low_f", "high_f", "clamped", "source"), [(row[0], row[1], row[3], row[4]) for row in ROWS])
def test_it_has_the_modified_degree_days(low_f, high_f, clamped, source):
    if clamped is not None:
        assert fahrenheit_days(float(modified(celsius(low_f), celsius(high_f)))) == pytest.approx(clamped), source


def test_it_has_a_single_sine_day_that_crosses_the_lower_threshold():
    # Derived from the formula of Baskerville & Emin 1969: 30 to 60 °F over 50, cut off at 86 °F.
    found = single_sine(celsius(30), celsius(60), BASE_C, celsius(86))
    assert fahrenheit_days(float(found)) == pytest.approx(2.542, abs=5e-4)


# University of California, degree-day output for station OJAI.C, 2016: single sine, 12 °C, horizontal cut-off at 33 °C;
# kept as test data of the package TrenchR (tests/testthat/degree-days-single-sine.csv). Its total from January 1 to 31
# is 79.25. Each row: low °C, high °C, degree days.
JANUARY = [
    (7.8, 19.4, 2.72),
    (4.4, 22.2, 3.51),
    (3.3, 18.9, 2.05),
    (10.0, 21.7, 4.21),
    (6.1, 15.0, 0.77),
    (4.4, 14.4, 0.51),
    (5.0, 15.0, 0.72),
    (3.3, 16.7, 1.23),
    (6.1, 17.2, 1.60),
    (10.0, 15.6, 1.33),
    (7.2, 20.0, 2.90),
    (6.1, 22.8, 4.00),
    (5.0, 16.7, 1.32),
    (5.0, 17.2, 1.51),
    (6.7, 17.2, 1.65),
    (8.9, 18.9, 2.66),
    (5.6, 18.3, 2.00),
    (10.6, 16.1, 1.66),
    (10.0, 16.1, 1.55),
    (10.0, 18.9, 2.86),
    (7.8, 25.6, 5.59),
    (7.8, 20.0, 2.99),
    (5.6, 17.8, 1.79),
    (5.0, 21.1, 3.11),
    (6.7, 23.9, 4.59),
    (9.4, 23.9, 5.13),
    (8.3, 24.4, 5.12),
    (5.0, 22.2, 3.59),
    (6.7, 22.2, 3.82),
    (8.9, 17.2, 1.89),
    (8.3, 15.0, 0.90),
]
# Other days of the same year: cool, warm all day, and above the upper threshold.
OTHERS = [
    (1.1, 16.1, 0.94),
    (15.0, 23.9, 7.45),
    (17.8, 32.2, 13.00),
    (11.7, 33.9, 10.74),
    (15.0, 37.2, 13.31),
    (15.0, 34.4, 12.54),
    (12.8, 35.6, 11.82),
    (10.6, 38.9, 11.71),
    (14.4, 39.4, 13.49),
    (13.9, 36.1, 12.50),
]
LOWER_C, UPPER_C = 12.0, 33.0


@pytest.mark.parametrize(("low_c", "high_c", "published"), JANUARY + OTHERS)
def test_it_has_the_stations_day(low_c, high_c, published):
    assert single_sine(low_c, high_c, LOWER_C, UPPER_C) == pytest.approx(published, abs=0.006)


def test_it_has_the_stations_total_of_january():
    low_c, high_c, _ = np.array(JANUARY).T
    assert single_sine(low_c, high_c, LOWER_C, UPPER_C).sum() == pytest.approx(79.25, abs=0.02)


def test_it_has_every_day_of_january():
    assert len(JANUARY) == (date(2016, 2, 1) - date(2016, 1, 1)).days


temperatures = st.floats(min_value=-40, max_value=50)
FORMS = [
    lambda low, high: simple(low, high, 10.0),
    modified,
    lambda low, high: single_sine(low, high, 10.0),
    lambda low, high: single_sine(low, high, 10.0, 30.0),
]


@pytest.mark.parametrize("form", FORMS)
@given(ends=st.lists(temperatures, min_size=3, max_size=3).map(sorted))
def test_it_is_never_negative_and_never_falls_with_warmer_lows_or_highs(form, ends):
    low, middle, high = ends
    days = [float(form(low, middle)), float(form(low, high)), float(form(middle, high))]
    assert days[0] >= -1e-9
    assert days[1] >= days[0] - 1e-9
    assert days[2] >= days[1] - 1e-9


@given(ends=st.lists(st.floats(min_value=10, max_value=30), min_size=2, max_size=2).map(sorted))
def test_it_is_the_simple_form_between_the_thresholds(ends):
    low, high = ends
    plain = float(simple(low, high, 10.0))
    assert float(single_sine(low, high, 10.0, 30.0)) == pytest.approx(plain)
    assert float(modified(low, high)) == pytest.approx(plain)


@pytest.mark.parametrize("same_c", [5.0, 10.0, 20.0, 30.0, 35.0])
def test_it_takes_a_day_of_one_temperature(same_c):
    within = min(max(same_c - 10.0, 0.0), 20.0)
    assert float(single_sine(same_c, same_c, 10.0, 30.0)) == pytest.approx(within)
    assert float(modified(same_c, same_c)) == pytest.approx(within)


@pytest.mark.parametrize(("low_c", "high_c"), [(5.0, 4.0), (float("nan"), 4.0)])
def test_it_refuses_days_that_cannot_be(low_c, high_c):
    with pytest.raises(InvalidFact, match="row 1"):
        simple([1.0, low_c], [2.0, high_c], 0.0)


def test_it_refuses_thresholds_in_the_wrong_order():
    with pytest.raises(InvalidFact, match="upper_c"):
        single_sine(1.0, 20.0, 12.0, 12.0)
