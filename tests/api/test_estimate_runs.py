"""Estimating every patch over HTTP."""

import pytest

from orders.estimates.models import EstimateRun
from tests import build
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground():
    return ground_build(estimated=False)


def test_it_is_asked_for_watched_and_stopped(desk, ground):
    reply = desk.send("/api/estimate-runs", {"crew_kind": "staff"})
    assert (reply.status_code, reply.json()["state"]) == (202, "queued")
    assert desk.get(reply.headers["Location"]).json()["id"] == reply.json()["id"]
    assert [row["id"] for row in desk.rows("/api/estimate-runs?state=queued")] == [reply.json()["id"]]
    stopped = desk.send(f"/api/estimate-runs/{reply.json()['id']}/cancel")
    assert (stopped.status_code, stopped.json()["state"]) == (200, "canceled")


def test_one_at_work_is_not_doubled(desk, ground):
    first, second = (desk.send("/api/estimate-runs").json()["id"] for _ in range(2))
    assert first == second
    assert EstimateRun.objects.count() == 1


def test_without_a_rate_book_it_is_refused(desk):
    reply = desk.send("/api/estimate-runs")
    assert (reply.status_code, EstimateRun.objects.count()) == (404, 0)


def test_it_tells_what_could_not_be_priced(desk, ground):
    gone = {"method": "spot-foliar", "name": "spot spray", "lacks": "mix", "why": "It has no mix", "patches": 3}
    run = build.EstimateRunFactory(left_out=[gone])
    assert desk.get(f"/api/estimate-runs/{run.public_id}").json()["left_out"] == [gone]
