"""A season as it runs: its calendar, its load and its cost by week."""

from datetime import date

import pytest

from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db
DAY = date(2027, 2, 3)


@pytest.fixture
def visit():
    season = build.SeasonFactory(name="2027", budget_cents=9_000_000)
    asked = build.PrescriptionFactory(season=season, seed_due_on=date(2027, 8, 18))
    crew = build.CrewFactory(name="Hollow crew", people=3)
    return build.VisitFactory(season=season, crew=crew, day=DAY, prescriptions=[asked], site=asked.patch.site)


def _address(visit, part):
    return f"/api/seasons/{visit.season.public_id}/{part}"


def test_it_lists_windows_visits_and_deadlines(desk, visit):
    asked = visit.shares.get().prescription
    shown = desk.get(_address(visit, "calendar")).json()
    (row,) = shown["rows"]
    assert (shown["first_day"], shown["last_day"]) == ("2027-01-04", "2027-12-17")
    assert (row["prescription"], row["patch"]["code"]) == (str(asked.public_id), asked.patch.code)
    assert (row["first_day"], row["last_day"], row["seed_due_on"]) == ("2027-01-04", "2027-03-20", "2027-08-18")
    assert row["deadline"] == "met"
    told = [(part["id"], part["day"], part["crew"]["name"], part["hours"], part["state"]) for part in row["visits"]]
    assert told == [(str(visit.public_id), "2027-02-03", "Hollow crew", 12.0, "planned")]


@pytest.mark.parametrize(
    ("span", "rows", "visits"),
    [
        ("first_day=2027-02-03&last_day=2027-02-03", 1, 1),
        ("first_day=2027-03-01&last_day=2027-03-31", 1, 0),
        ("first_day=2027-08-01&last_day=2027-08-31", 1, 0),
        ("first_day=2027-09-01", 0, 0),
    ],
)
def test_it_cuts_to_a_span(desk, visit, span, rows, visits):
    found = desk.get(_address(visit, f"calendar?{span}")).json()["rows"]
    assert (len(found), sum(len(row["visits"]) for row in found)) == (rows, visits)


def test_it_narrows_by_site_and_crew(desk, visit):
    other_site, other_crew = build.SiteFactory(), build.CrewFactory(name="Far crew")
    counts = [
        len(desk.get(_address(visit, f"calendar?{query}")).json()["rows"])
        for query in (
            f"site={visit.site.public_id}",
            f"site={other_site.public_id}",
            f"crew={visit.crew.public_id}",
            f"crew={other_crew.public_id}",
        )
    ]
    assert counts == [1, 0, 1, 0]


def test_it_tells_hours_against_capacity(desk, visit):
    weeks = desk.get(_address(visit, "load")).json()["weeks"]
    (busy,) = [week for week in weeks if week["hours"]]
    assert (busy["crew"]["name"], busy["monday"], busy["capacity_hours"]) == ("Hollow crew", "2027-02-01", 120.0)
    assert busy["hours"] >= 12


def test_it_tells_the_cost_by_week_beside_the_budget(desk, visit):
    shown = desk.get(_address(visit, "cost-course")).json()
    assert shown["budget_cents"] == 9_000_000
    first, last = shown["weeks"][0], shown["weeks"][-1]
    assert first["likely_cents"] == 0
    assert 0 < last["low_cents"] < last["likely_cents"] < last["high_cents"]


def test_it_shows_a_plan_run_instead(desk, visit):
    run = build.PlanRunFactory(season=visit.season, state="done")
    query = f"?run={run.public_id}"
    assert desk.get(_address(visit, f"calendar{query}")).json()["rows"][0]["visits"] == []
    assert {week["hours"] for week in desk.get(_address(visit, f"load{query}")).json()["weeks"]} == {0}
    assert desk.get(_address(visit, f"cost-course{query}")).json()["weeks"][-1]["mean_cents"] == 0


@pytest.mark.parametrize("part", ["calendar", "load", "cost-course"])
def test_it_refuses_a_run_of_another_season(desk, visit, part):
    run = build.PlanRunFactory()
    reply = desk.get(_address(visit, f"{part}?run={run.public_id}"))
    assert (reply.status_code, error_fields(reply)) == (400, ["run"])


def test_it_refuses_a_what_if(desk, visit):
    run = build.PlanRunFactory(season=visit.season, purpose="what_if")
    reply = desk.get(_address(visit, f"load?run={run.public_id}"))
    assert (reply.status_code, error_fields(reply)) == (400, ["run"])


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("run=7", "run"),
        ("first_day=tomorrow", "first_day"),
        ("first_day=2027-03-01&last_day=2027-02-01", "last_day"),
        ("color=red", "color"),
        ("site=", "site"),
    ],
)
def test_it_names_what_is_wrong(desk, visit, query, field):
    reply = desk.get(_address(visit, f"calendar?{query}"))
    assert (reply.status_code, error_fields(reply)) == (400, [field])


def test_it_knows_no_other_site(desk, visit):
    assert desk.get(_address(visit, f"calendar?site={visit.public_id}")).status_code == 404
