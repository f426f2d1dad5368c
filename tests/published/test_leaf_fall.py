"""A model of leaf fall (Delpierre et al. 2009, AFM 149:938-948) against itself.

No published run was found. The days were computed from the formula by a program written apart from this one, at one
temperature all year from day 183 on, with the parameters that were seen in others' code.
"""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidFact
from estimating.leaf_fall import LeafFallModel, leaf_fall
from estimating.weather import daily_weather

TEMPERATURES_C = (5, 10, 15, 18, 20)
DAYS = {
    38.25: (216, 226, 251, 295, None),
    40: (222, 232, 258, 305, None),
    42: (228, 238, 266, 316, None),
}
MIDSUMMER = date(2025, 7, 2)


def half_year(means_c):
    """From day 183 on, a day's low and high 5 °C from its mean."""
    return daily_weather((MIDSUMMER + timedelta(days=n), mean - 5.0, mean + 5.0) for n, mean in enumerate(means_c))


def steady(mean_c, days=183):
    return half_year([mean_c] * days)


@pytest.mark.parametrize("latitude_deg", DAYS)
def test_it_falls_on_the_days_of_the_table(latitude_deg):
    found = [leaf_fall(steady(mean_c), latitude_deg, 2025).day for mean_c in TEMPERATURES_C]
    assert tuple(day and day.timetuple().tm_yday for day in found) == DAYS[latitude_deg]


@pytest.mark.parametrize("latitude_deg", DAYS)
def test_it_never_falls_where_light_counts_by_what_is_short(latitude_deg):
    model = LeafFallModel(by_shortfall=True)
    assert {leaf_fall(steady(mean_c), latitude_deg, 2025, model).day for mean_c in TEMPERATURES_C} == {None}


@given(
    means_c=st.lists(st.floats(min_value=-10, max_value=30), min_size=183, max_size=183),
    colder_c=st.floats(min_value=0, max_value=20),
    by_shortfall=st.booleans(),
)
def test_it_is_never_later_in_a_colder_year(means_c, colder_c, by_shortfall):
    model = LeafFallModel(by_shortfall=by_shortfall, sum_at_fall=3000.0)
    day = leaf_fall(half_year(means_c), 40, 2025, model).day
    colder = leaf_fall(half_year([mean - colder_c for mean in means_c]), 40, 2025, model).day
    assert day is None or (colder is not None and colder <= day)


def test_it_says_how_far_the_record_goes_and_what_is_missing():
    found = leaf_fall(steady(15, days=20), 40, 2025)
    assert (found.day, found.known_to, found.missing) == (None, date(2025, 7, 21), ())
    gap = daily_weather((date(2025, 7, day), 10.0, 20.0) for day in (2, 3, 5))
    assert leaf_fall(gap, 40, 2025).missing == (date(2025, 7, 4),)


def test_it_has_no_date_without_weather():
    assert leaf_fall(steady(5), 40, 2024).known_to is None


def test_it_refuses_places_south_of_the_equator():
    with pytest.raises(InvalidFact, match="north"):
        leaf_fall(steady(5), -40, 2025)
