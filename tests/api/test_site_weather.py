"""Daily weather from CSV, read back a page at a time, and the advice that comes of it."""

from datetime import date, timedelta

import pytest

from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db
CSV = "date,low_f,high_f,rain_in\n2026-03-01,32,50,0.1\n2026-03-02,41,59,\n"


@pytest.fixture
def site():
    return build.SiteFactory()


def test_it_takes_days_in_fahrenheit_and_tells_them_in_celsius(desk, site):
    reply = desk.send(f"/api/sites/{site.public_id}/weather", {"csv": CSV, "source": "gauge"})
    told = reply.json()
    assert (reply.status_code, told["added"], told["changed"], told["last_day"]) == (201, 2, 0, "2026-03-02")
    days = desk.rows(f"/api/daily-weather?site={site.public_id}&limit=1")
    assert [(row["day"], row["low_c"], row["rain_mm"]) for row in days] == [
        ("2026-03-01", 0.0, 2.54),
        ("2026-03-02", 5.0, None),
    ]


def test_it_names_the_row_and_takes_nothing(desk, site):
    body = {"csv": CSV.replace("41", "warm"), "source": "gauge"}
    reply = desk.send(f"/api/sites/{site.public_id}/weather", body)
    (error,) = reply.json()["errors"]
    assert (reply.status_code, error["row"], error["field"]) == (400, 2, "low_f")
    assert desk.rows("/api/daily-weather") == []


def test_it_asks_where_the_figures_come_from(desk, site):
    assert error_fields(desk.send(f"/api/sites/{site.public_id}/weather", {"csv": CSV})) == ["source"]


@pytest.mark.parametrize(("query", "count"), [("day_from=2026-04-02", 2), ("day_to=2026-04-01", 1)])
def test_it_lists_a_span_of_days(lead, site, query, count):
    for number in range(3):
        build.DailyWeatherFactory(site=site, day=date(2026, 4, 1) + timedelta(days=number))
    assert len(lead.rows(f"/api/daily-weather?{query}")) == count


def test_it_advises_by_weather_and_says_that_it_is_advice(lead, site):
    for number in range(30):
        build.DailyWeatherFactory(site=site, day=date(2026, 11, 1) + timedelta(days=number))
    told = lead.get(f"/api/sites/{site.public_id}/advice").json()
    assert told["on"] == "2026-12-01"
    assert told["line"].startswith("Advice only")
    assert any("Degree days" in sentence for sentence in told["sentences"])


def test_it_advises_by_day_length_where_there_is_no_weather(lead, site):
    told = lead.get(f"/api/sites/{site.public_id}/advice").json()
    assert [sentence[:10] for sentence in told["sentences"]] == ["Day length"]
