"""Plans: asked for, watched, canceled, accepted."""

import pytest

from orders.planning.models import PlanRun
from orders.workorders.models import WorkOrder
from tests import build
from tests.api.caller import error_fields
from tests.flow.world import prescribed, run_now, world_build

pytestmark = pytest.mark.django_db
OWN_ID = "0d1f7a34-6c0c-4f0a-9be1-52d4d1f6a001"


def test_it_asks_for_a_plan_and_says_where_to_look(desk):
    season = build.SeasonFactory()
    body = {"season": str(season.public_id), "iterations": 50, "id": OWN_ID}
    reply = desk.send("/api/plan-runs", body)
    assert (reply.status_code, reply.headers["Location"]) == (202, f"/api/plan-runs/{OWN_ID}")
    told = desk.get(reply.headers["Location"]).json()
    assert (told["state"], told["iterations"], told["asked_by"]["name"]) == ("queued", 50, "desk")


def test_it_refuses_an_id_that_is_in_use(desk):
    body = {"season": str(build.SeasonFactory().public_id), "id": OWN_ID}
    desk.send("/api/plan-runs", body)
    reply = desk.send("/api/plan-runs", body)
    assert (reply.status_code, reply.json()["code"]) == (409, "taken")
    assert PlanRun.objects.count() == 1


def test_it_knows_no_other_season(desk):
    assert desk.send("/api/plan-runs", {"season": OWN_ID}).status_code == 404


def test_it_lists_by_season_and_state(desk):
    run = build.PlanRunFactory()
    build.PlanRunFactory(state="done")
    assert [row["state"] for row in desk.rows("/api/plan-runs?state=queued,running")] == ["queued"]
    assert len(desk.rows(f"/api/plan-runs?season={run.season.public_id}")) == 1


def test_it_cancels_what_waits(desk):
    run = build.PlanRunFactory()
    reply = desk.send(f"/api/plan-runs/{run.public_id}/cancel")
    assert (reply.status_code, reply.json()["state"]) == (200, "canceled")
    assert desk.send(f"/api/plan-runs/{run.public_id}/cancel").status_code == 409


@pytest.fixture
def planned():
    world = world_build()
    prescribed(world)
    from_plan = PlanRun.objects.create(season=world.season, iterations=20, asked_at="2026-12-01T00:00:00Z")
    return world, run_now(from_plan)


def test_it_drafts_the_orders_of_an_accepted_plan(desk, planned):
    world, run = planned
    funding = [{"fund": str(world.fund.public_id), "share_e4": 10_000}]
    reply = desk.send(f"/api/plan-runs/{run.public_id}/accept", {"funding": funding})
    order = WorkOrder.objects.get()
    assert reply.status_code == 201, reply.json()
    assert [row["number"] for row in reply.json()["orders"]] == [order.number]
    assert order.funding.get().fund == world.fund


def test_it_accepts_a_plan_once(desk, planned):
    _, run = planned
    desk.send(f"/api/plan-runs/{run.public_id}/accept")
    reply = desk.send(f"/api/plan-runs/{run.public_id}/accept")
    assert (reply.status_code, reply.json()["code"]) == (409, "wrong_state")


def test_it_refuses_a_plan_made_from_what_has_changed(desk, planned):
    world, run = planned
    build.ClosureFactory(site=world.patch.site)
    reply = desk.send(f"/api/plan-runs/{run.public_id}/accept")
    assert (reply.status_code, reply.json()["code"]) == (409, "plan_out_of_date")


def test_it_drafts_nothing_where_the_shares_do_not_add_up(desk, planned):
    world, run = planned
    funding = [{"fund": str(world.fund.public_id), "share_e4": 9_000}]
    reply = desk.send(f"/api/plan-runs/{run.public_id}/accept", {"funding": funding})
    assert (reply.status_code, error_fields(reply)) == (400, ["shares"])
    assert not WorkOrder.objects.exists()
    run.refresh_from_db()
    assert run.accepted_at is None


def test_it_tells_what_was_left_out_and_why(desk):
    left = {
        "prescription": OWN_ID,
        "patch": "KF H-01",
        "method": "Cutting",
        "hours": 12.5,
        "constraint": "window",
        "because": "No crew is free in the window.",
    }
    run = build.PlanRunFactory(state="done", left_out=[left])
    assert desk.get(f"/api/plan-runs/{run.public_id}").json()["left_out"] == [left]
