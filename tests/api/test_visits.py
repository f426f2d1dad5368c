"""Visits: all for the office, own orders' for a crew lead."""

from datetime import date

import pytest

from tests import build

pytestmark = pytest.mark.django_db


def test_it_tells_what_a_visit_serves(scene):
    (row,) = scene.as_("coordinator").rows("/api/visits")
    assert (row["day"], row["state"], row["crew"]["name"]) == ("2027-02-01", "ordered", "Hollow crew")
    assert [(share["patch"], share["method"]) for share in row["shares"]] == [("H-01", "hand-pull")]


def test_it_shows_a_lead_the_visits_of_own_issued_orders(scene):
    scene.issue()
    build.VisitFactory(crew=scene.world.crew, state="proposed")
    seen = {name: len(scene.as_(name).rows("/api/visits")) for name in ("lead", "mate", "stranger", "coordinator")}
    assert seen == {"lead": 1, "mate": 1, "stranger": 0, "coordinator": 2}


def test_it_shows_a_lead_nothing_of_a_draft(scene):
    assert scene.as_("lead").rows("/api/visits") == []


def test_it_filters(desk):
    row = build.VisitFactory(day=date(2027, 3, 1))
    build.VisitFactory(day=date(2027, 5, 1), state="done")
    queries = [
        f"season={row.season.public_id}",
        f"crew={row.crew.public_id}",
        f"site={row.site.public_id}",
        "state=planned",
        "day_to=2027-04-01",
        "day_from=2027-03-01&day_to=2027-03-01",
    ]
    found = [[found["id"] for found in desk.rows(f"/api/visits?{query}")] for query in queries]
    assert found == [[str(row.public_id)]] * len(queries)
