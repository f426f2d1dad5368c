from datetime import date
from typing import Any

import pytest

from orders.common.errors import Invalid
from orders.sites.models import CalendarEvent
from orders.sites.selectors import site_calendar
from orders.sites.services import calendar_event_add
from tests import build

pytestmark = pytest.mark.django_db


def test_it_gives_the_mean_day_and_the_spread_of_the_sites_own_years():
    site = build.SiteFactory()
    for year, day in [(2024, 10), (2025, 14), (2026, 18)]:
        build.CalendarEventFactory(site=site, year=year, on=date(year, 11, day))
    build.CalendarEventFactory(year=2026, on=date(2026, 10, 1))
    mean = site_calendar(site)["leaf_off"]
    assert (mean.month, mean.day, mean.years) == (11, 14, 3)
    assert mean.spread_days == pytest.approx(4.0)  # sample standard deviation of 10, 14 and 18


def test_it_counts_a_leap_years_spring_by_month_and_day():
    site = build.SiteFactory()
    for year in (2023, 2024):
        build.CalendarEventFactory(site=site, kind="ephemerals", year=year, on=date(year, 3, 10))
    mean = site_calendar(site)["ephemerals"]
    assert (mean.month, mean.day, mean.spread_days) == (3, 10, 0.0)


def test_it_averages_over_the_turn_of_the_year():
    site = build.SiteFactory()
    build.CalendarEventFactory(site=site, year=2024, on=date(2024, 12, 28))
    build.CalendarEventFactory(site=site, year=2025, on=date(2026, 1, 5))
    mean = site_calendar(site)["leaf_off"]
    assert (mean.month, mean.day) == (1, 1)


def test_it_says_nothing_of_spread_from_one_year_and_nothing_from_none():
    site = build.SiteFactory()
    build.CalendarEventFactory(site=site)
    assert site_calendar(site)["leaf_off"].spread_days is None
    assert "leaf_out" not in site_calendar(site)


def facts() -> dict[str, Any]:
    return {"site": build.SiteFactory(), "kind": "leaf_off", "year": 2026, "on": date(2026, 11, 14), "source": "log"}


def test_it_adds_an_event_once_a_year(stamp):
    given = facts()
    calendar_event_add(stamp=stamp, **given)
    with pytest.raises(Invalid, match="not added"):
        calendar_event_add(stamp=stamp, **given)
    assert CalendarEvent.objects.count() == 1


@pytest.mark.parametrize(("field", "wrong"), [("on", date(2024, 11, 14)), ("kind", "snow"), ("source", "")])
def test_it_names_the_field_that_is_wrong(stamp, field, wrong):
    with pytest.raises(Invalid) as refusal:
        calendar_event_add(stamp=stamp, **facts() | {field: wrong})
    assert [error.field for error in refusal.value.errors] == [field]
