"""Looking at a whole season in the background, over HTTP."""

import pytest

from orders.common.runs import run_claim, run_perform
from orders.planning.models import Prescription, SeasonPrescribeRun
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground():
    return ground_build()


def _ask(desk, ground, purpose):
    return desk.send("/api/season-prescribe-runs", {"season": str(ground.world.season.public_id), "purpose": purpose})


def _work():
    run = SeasonPrescribeRun.objects.get()
    attempt = run_claim(run, at=BEGIN)
    assert attempt is not None
    run_perform(run, attempt, clock=lambda: BEGIN)


def test_it_is_asked_for_watched_and_prescribes(desk, ground):
    reply = _ask(desk, ground, "prescribe")
    assert (reply.status_code, reply.json()["state"]) == (202, "queued")
    _work()
    told = desk.get(reply.headers["Location"]).json()
    assert told["found"]["counts"]["new"] == 3
    assert told["made_count"] == Prescription.objects.count() > 0
    assert desk.get(f"/api/choice-batches/{told['choice']}").status_code == 200


def test_one_at_work_is_not_doubled_and_can_be_stopped(desk, ground):
    first, second = (_ask(desk, ground, "look").json()["id"] for _ in range(2))
    assert first == second
    stopped = desk.send(f"/api/season-prescribe-runs/{first}/cancel")
    assert (stopped.status_code, stopped.json()["state"]) == (200, "canceled")
    assert [row["id"] for row in desk.rows("/api/season-prescribe-runs?state=canceled&purpose=look")] == [first]


def test_it_names_what_it_is_for(desk, ground):
    reply = _ask(desk, ground, "guess")
    assert (reply.status_code, SeasonPrescribeRun.objects.count()) == (400, 0)
