"""Day length by the CBM formula (Forsythe et al. 1995, Ecological Modelling 80:87-95).

The tables were computed from the formula by a program written apart from this one; the independent checks are almanac
figures. The formula is up to 0.10 h off the true sun below 50 degrees of latitude, so that they have their tolerance.
"""

from datetime import date

import pytest

from estimating.day_length import (
    CENTER_LEVEL_DEG,
    CIVIL_TWILIGHT_DEG,
    TOP_AND_REFRACTION_DEG,
    TOP_LEVEL_DEG,
    day_length_hours,
    day_length_on,
    first_day_below,
)
from estimating.errors import InvalidFact

DAYS = (1, 80, 105, 172, 213, 266, 288, 305, 319, 335, 355)
HOURS = {
    0: (12.1208, 12.1111, 12.1126, 12.1211, 12.1170, 12.1111, 12.1123, 12.1146, 12.1170, 12.1196, 12.1211),
    30: (10.2452, 12.1220, 12.8684, 14.0783, 13.5999, 12.1479, 11.4930, 11.0163, 10.6717, 10.3724, 10.2111),
    38.25: (9.5464, 12.1328, 13.1534, 14.8305, 14.1619, 12.1682, 11.2731, 10.6182, 10.1417, 9.7246, 9.4984),
    40: (9.3757, 12.1358, 13.2226, 15.0160, 14.2992, 12.1735, 11.2205, 10.5223, 10.0133, 9.5669, 9.3242),
    45: (8.8260, 12.1462, 13.4435, 15.6183, 14.7407, 12.1911, 11.0543, 10.2176, 9.6033, 9.0601, 8.7628),
    70: (0, 12.2948, 16.0165, 24, 21.5730, 12.4182, 9.2408, 6.5979, 4.0516, 0, 0),
}
HORIZONS = {
    CENTER_LEVEL_DEG: 12.0285,
    TOP_LEVEL_DEG: 12.0749,
    TOP_AND_REFRACTION_DEG: 12.1735,
    CIVIL_TWILIGHT_DEG: 13.0744,
}


@pytest.mark.parametrize("latitude_deg", HOURS)
def test_it_has_each_cell_of_the_table(latitude_deg):
    assert day_length_hours(latitude_deg, DAYS) == pytest.approx(HOURS[latitude_deg], abs=1e-4)


@pytest.mark.parametrize("below_deg", HORIZONS)
def test_it_knows_where_the_sun_rises_and_sets(below_deg):
    assert float(day_length_hours(40, 266, below_deg)) == pytest.approx(HORIZONS[below_deg], abs=1e-4)


ALMANAC = "United States Naval Observatory, quoted in coldcalculation.blogspot.com"
TRAVELS = "vevovi.blogspot.com, of no named year"
# latitude, day, hours, minutes, seconds, tolerance in minutes, source
CHECKS = [
    (37.77, date(2007, 6, 21), (14, 47, 0), 0.5, ALMANAC),
    (37.77, date(2007, 12, 21), (9, 33, 0), 0.5, ALMANAC),
    (37.77, date(2007, 3, 5), (11, 31, 0), 2.5, ALMANAC),
    (-0.25, date(2015, 6, 21), (12, 6, 32), 0.5, TRAVELS),
    (-0.25, date(2015, 12, 21), (12, 8, 18), 0.5, TRAVELS),
    (24.8, date(2015, 6, 21), (13, 39, 11), 2.0, TRAVELS),
    (24.8, date(2015, 12, 22), (10, 37, 23), 2.0, TRAVELS),
]


@pytest.mark.parametrize(("latitude_deg", "day", "published", "minutes", "source"), CHECKS)
def test_it_agrees_with_almanacs(latitude_deg, day, published, minutes, source):
    hours, whole_minutes, seconds = published
    expected = hours * 60 + whole_minutes + seconds / 60
    assert day_length_on(latitude_deg, day) * 60 == pytest.approx(expected, abs=minutes), source


def test_it_has_twelve_hours_and_seven_minutes_at_the_equator_all_year():
    # Common knowledge of almanacs: 12 h 7 min on every day.
    found = day_length_hours(0, range(1, 366)) * 60
    assert found == pytest.approx([727.0] * 365, abs=1.0)


LIMITS = (14.5, 14, 13, 12.5, 12, 11, 10.5, 10)
FIRST_DAYS = {
    35: ("06-28", "07-30", "08-31", "09-14", "09-28", "10-26", "11-11", "12-01"),
    38.25: ("07-20", "08-07", "09-03", "09-15", "09-28", "10-22", "11-05", "11-20"),
    40: ("07-26", "08-10", "09-04", "09-16", "09-27", "10-21", "11-02", "11-16"),
    42: ("08-01", "08-14", "09-06", "09-17", "09-27", "10-19", "10-30", "11-12"),
}


@pytest.mark.parametrize("latitude_deg", FIRST_DAYS)
def test_it_finds_the_first_day_below_each_length(latitude_deg):
    found = [first_day_below(latitude_deg, hours, 2025) for hours in LIMITS]
    assert [f"{day:%m-%d}" for day in found] == list(FIRST_DAYS[latitude_deg])


@pytest.mark.parametrize(("latitude_deg", "hours"), [(40, 9.0), (40, 16.0), (0, 12.0), (0, 13.0)])
def test_it_has_no_first_day_where_days_never_cross_the_length(latitude_deg, hours):
    assert first_day_below(latitude_deg, hours, 2025) is None


def test_it_counts_from_december_south_of_the_equator():
    found = first_day_below(-40, 12, 2025)
    assert found is not None
    assert found.year == 2026
    assert day_length_on(-40, found) < 12 <= day_length_on(-40, date(found.year, found.month, found.day - 1))


@pytest.mark.parametrize(("latitude_deg", "day"), [(90, 1), (-90, 1), (40, 0), (40, 367), (float("nan"), 1)])
def test_it_refuses_what_is_no_place_or_no_day(latitude_deg, day):
    with pytest.raises(InvalidFact):
        day_length_hours(latitude_deg, day)
