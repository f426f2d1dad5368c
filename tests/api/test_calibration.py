"""Calibrations over the API, and the accuracy report."""

import pytest

from tests import build
from tests.api.caller import error_fields
from tests.api.conftest import NOW
from tests.calibration.closed import RATIOS, calibrated, closed_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def run():
    return calibrated(closed_build(RATIOS), NOW)


def test_it_asks_for_one_and_says_where_to_look(desk):
    season = build.SeasonFactory()
    reply = desk.send("/api/calibration-runs", {"season": str(season.public_id)})
    assert reply.status_code == 202
    told = desk.get(reply.headers["Location"]).json()
    assert (told["state"], told["kind"], told["crew_kind"], told["result"]) == ("queued", "calibration", "staff", None)


def test_it_refuses_other_crews(desk):
    body = {"season": str(build.SeasonFactory().public_id), "crew_kind": "robots"}
    assert error_fields(desk.send("/api/calibration-runs", body)) == ["crew_kind"]


def test_it_lists_by_season_and_state(desk, run):
    build.CalibrationRunFactory()
    assert len(desk.rows(f"/api/calibration-runs?season={run.season.public_id}")) == 1
    assert [row["state"] for row in desk.rows("/api/calibration-runs?state=queued")] == ["queued"]


def test_it_shows_ratios_with_interval_count_and_the_orders_behind(desk, run):
    told = desk.get(f"/api/calibration-runs/{run.public_id}").json()
    cut = told["result"]["methods"][0]
    assert cut["low"] < cut["ratio"] < cut["high"]
    assert sorted(cut["orders"]) == sorted(row["order"] for row in told["evidence"])
    assert len(told["result"]["weights"]) == 10


def test_it_drafts_a_rate_book(desk, run):
    reply = desk.send(f"/api/calibration-runs/{run.public_id}/draft")
    assert (reply.status_code, reply.json()["state"]) == (201, "draft")
    rates = desk.get(reply.headers["Location"]).json()["rates"]
    assert rates[0]["source"].startswith("calibrated on 10 closed orders")


def test_it_says_that_there_is_not_enough_evidence(desk):
    run = calibrated(closed_build(RATIOS[:2]), NOW)
    reply = desk.send(f"/api/calibration-runs/{run.public_id}/draft")
    assert (reply.status_code, reply.json()["code"]) == (409, "not_enough_evidence")


def test_it_leaves_drafting_to_the_desk(finance, lead, run):
    assert finance.send(f"/api/calibration-runs/{run.public_id}/draft").status_code == 403
    assert finance.get(f"/api/calibration-runs/{run.public_id}").status_code == 200
    assert lead.get(f"/api/calibration-runs/{run.public_id}").status_code == 403


def test_it_reports_accuracy(desk, run):
    told = desk.get(f"/api/reports/accuracy?season={run.season.public_id}&by=crew").json()
    assert [row["name"] for row in told["rows"]] == ["Alder crew", "Birch crew"]
    assert told["overall"]["orders"] == 10


@pytest.mark.parametrize(("query", "field"), [("", "season"), ("?season=x", "season"), ("?sesaon=1", "sesaon")])
def test_it_names_what_is_wrong_with_the_question(desk, query, field):
    assert error_fields(desk.get(f"/api/reports/accuracy{query}")) == [field]


def test_it_knows_no_other_cut(desk, run):
    reply = desk.get(f"/api/reports/accuracy?season={run.season.public_id}&by=moon")
    assert (reply.status_code, error_fields(reply)) == (400, ["by"])
