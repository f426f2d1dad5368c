"""What weather says of a site's season: sums by year, and a line that says it is advice."""

from datetime import date, timedelta

import pytest

from orders.sites.advice import degree_day_sums, site_advice
from orders.sites.weather import site_weather
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return build.SiteFactory()


def days(site, first, last, low_c=10.0, high_c=30.0):
    for number in range((last - first).days + 1):
        build.DailyWeatherFactory(site=site, day=first + timedelta(days=number), low_c=low_c, high_c=high_c)


def test_it_adds_the_days_up_to_each_months_end_in_the_year_and_those_before(site):
    for year in (2025, 2026):
        days(site, date(year, 1, 1), date(year, 2, 10))
    sums = degree_day_sums(site_weather(site), date(2026, 2, 10))
    # 50 and 86 F are the limits themselves: (50 + 86) / 2 - 50 = 18 a day, by the formula
    assert list(sums.until) == [date(2026, 1, 31), date(2026, 2, 10)]
    assert {year: [round(total, 6) for total in found] for year, found in sums.years.items()} == {
        2026: [558.0, 738.0],
        2025: [558.0, 738.0],
    }


def test_it_leaves_a_year_with_a_gap_out(site):
    days(site, date(2026, 1, 1), date(2026, 1, 10))
    days(site, date(2025, 1, 2), date(2025, 1, 10))
    assert list(degree_day_sums(site_weather(site), date(2026, 1, 10)).years) == [2026]


def test_a_day_that_is_not_over_is_not_missing(site):
    days(site, date(2026, 1, 1), date(2026, 1, 10))
    assert "missing" not in site_advice(site, date(2026, 1, 11)).line
    assert "missing" in site_advice(site, date(2026, 1, 12)).line
