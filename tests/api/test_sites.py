"""Sites, their calendars and closures."""

from datetime import date

import pytest

from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return build.SiteFactory(code="KF", name="Ketterfold Hollow")


def test_it_lists_sites_without_boundaries(lead, site):
    (row,) = lead.rows("/api/sites")
    assert (row["code"], row["time_zone"]) == ("KF", "America/Kentucky/Louisville")
    assert row["jurisdiction"] == {"code": "KY", "name": "State of KY"}
    assert "boundary" not in row


def test_it_shows_the_boundary_of_one(lead, site):
    assert lead.get(f"/api/sites/{site.public_id}").json()["boundary"]["type"] == "Polygon"


@pytest.mark.parametrize(("query", "found"), [("code=KF", ["KF"]), ("code=XX", []), ("jurisdiction=KY", ["KF"])])
def test_it_filters_sites(lead, site, query, found):
    assert [row["code"] for row in lead.rows(f"/api/sites?{query}")] == found


def test_it_knows_no_other_site(lead, site):
    reply = lead.get(f"/api/sites/{build.PatchFactory().public_id}")
    assert (reply.status_code, reply.json()["code"]) == (404, "not_found")


def test_it_tells_the_means_of_the_calendar_and_the_records_behind_them(lead, site):
    for year, day in ((2024, 18), (2025, 22)):
        build.CalendarEventFactory(site=site, year=year, on=date(year, 11, day))
    told = lead.get(f"/api/sites/{site.public_id}/calendar").json()
    assert [(mean["kind"], mean["month"], mean["day"], mean["years"]) for mean in told["means"]] == [
        ("leaf_off", 11, 20, 2)
    ]
    assert [row["on"] for row in told["records"]] == ["2024-11-18", "2025-11-22"]


@pytest.mark.parametrize(
    ("query", "count"),
    [("", 1), ("?day_from=2027-04-15", 1), ("?day_from=2027-04-16", 0), ("?day_to=2027-03-31", 0)],
)
def test_it_lists_closures_that_touch_the_days(lead, query, count):
    build.ClosureFactory(first_day=date(2027, 4, 1), last_day=date(2027, 4, 15))
    assert len(lead.rows(f"/api/closures{query}")) == count


def test_it_lists_the_closures_of_one_site(lead, site):
    build.ClosureFactory(site=site, why="Nesting")
    build.ClosureFactory()
    assert [row["why"] for row in lead.rows(f"/api/closures?site={site.public_id}")] == ["Nesting"]
