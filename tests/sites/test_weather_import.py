"""Daily weather from a file: the header names the unit, all of the days are taken or none."""

from datetime import date

import pytest

from orders.common.errors import Invalid
from orders.common.models import Change
from orders.sites.models import DailyWeather
from orders.sites.services import weather_import
from orders.sites.weather import site_weather, years_covered
from tests import build

pytestmark = pytest.mark.django_db
HEAD = "date,low_c,high_c,rain_mm\n"
TWO = f"{HEAD}2026-03-01,-2.5,8,0\n2026-03-02,1,12.5,\n"


@pytest.fixture
def site():
    return build.SiteFactory()


@pytest.fixture
def read(stamp, site):
    return lambda text: weather_import(stamp=stamp, site=site, text=text, source="gauge at the shop (invented)")


def test_it_takes_the_days_of_a_file(read, site):
    made = read(TWO)
    assert (made.added, made.changed, made.same, made.first_day, made.last_day) == (
        2,
        0,
        0,
        date(2026, 3, 1),
        date(2026, 3, 2),
    )
    rows = DailyWeather.objects.filter(site=site).order_by("day")
    assert list(rows.values_list("low_c", "high_c", "rain_mm")) == [(-2.5, 8.0, 0.0), (1.0, 12.5, None)]


@pytest.mark.parametrize(
    "head", ["date,low_f,high_f,rain_in", "Date,Low (°F),High (°F),Rain (in)", "DAY,tmin F,tmax F,rain in"]
)
def test_it_turns_the_unit_that_the_header_names_into_ours(read, head):
    read(f"{head}\n2026-03-01,32,50,1\n")
    row = DailyWeather.objects.get()
    assert (row.low_c, row.high_c, row.rain_mm) == (0.0, 10.0, 25.4)


def test_it_takes_columns_in_any_order_and_passes_over_those_it_does_not_know(read):
    read("high_c,wind_mph,date,low_c\n9,4,2026-03-01,2\n")
    assert list(DailyWeather.objects.values_list("low_c", "high_c", "rain_mm")) == [(2.0, 9.0, None)]


def test_it_brings_a_day_up_to_date_and_records_what_it_was(read):
    read(TWO)
    made = read(f"{HEAD}2026-03-01,-2.5,9,\n2026-03-02,1,12.5,\n2026-03-03,0,5,2\n")
    assert (made.added, made.changed, made.same) == (1, 1, 1)
    row = DailyWeather.objects.get(day=date(2026, 3, 1))
    assert (row.high_c, row.rain_mm, row.version) == (9.0, 0.0, 2)  # a blank rain leaves what is known
    change = Change.objects.get(verb="weather_edit")
    assert change.before
    assert change.after
    assert (change.before["high_c"], change.after["high_c"]) == (8.0, 9.0)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", [("csv", None)] * 3),
        (HEAD, [("csv", None)]),
        ("date,low,high\n2026-03-01,1,2\n", [("csv", None)] * 2),
        ("date,low_f,high_c\n2026-03-01,1,2\n", [("csv", None)]),
        ("date,low_c,high_c,min_c\n2026-03-01,1,2,3\n", [("csv", None)]),
        (f"{HEAD}2026-03-01,1,2,\n2026-03-02,9,2,\n", [("high_c", 2)]),
        (f"{HEAD}2026-03-01,1,2,\n2026-03-01,1,2,\n", [("date", 2)]),
        (f"{HEAD}03/01/2026,1,2,\n", [("date", 1)]),
        (f"{HEAD}2030-03-01,1,2,\n", [("date", 1)]),
        (f"{HEAD}2026-03-01,,2,\n", [("low_c", 1)]),
        (f"{HEAD}2026-03-01,warm,2,-4\n", [("low_c", 1), ("rain_mm", 1)]),
        (f"{HEAD}2026-03-01,30,88,\n", [("high_c", 1)]),
    ],
)
def test_it_names_row_and_column_and_takes_nothing(read, text, told):
    with pytest.raises(Invalid) as refusal:
        read(text)
    assert [(error.field, error.row) for error in refusal.value.errors] == told
    assert not DailyWeather.objects.exists()


def test_it_asks_where_the_figures_come_from(stamp, site):
    with pytest.raises(Invalid) as refusal:
        weather_import(stamp=stamp, site=site, text=TWO, source=" ")
    assert [error.field for error in refusal.value.errors] == ["source"]


def test_it_counts_the_days_that_a_year_misses(read, site):
    read(f"{HEAD}2025-12-30,1,2,\n2026-01-01,1,2,\n2026-01-04,1,2,\n")
    covered = years_covered(site_weather(site))
    assert [(year.year, year.days, year.missing) for year in covered] == [(2025, 1, 0), (2026, 2, 2)]
