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


LEFT = {
    "prescription": OWN_ID,
    "patch": "KF H-01",
    "method": "Cutting",
    "hours": 12.5,
    "constraint": "window",
    "because": "No crew is free in the window.",
}


def test_it_tells_what_was_left_out_and_why(desk):
    left = {**LEFT, "change": "crew day", "would_help": "One more day of Hollow crew.", "change_cents": 64_000}
    run = build.PlanRunFactory(state="done", left_out=[left])
    assert desk.get(f"/api/plan-runs/{run.public_id}").json()["left_out"] == [left]


def test_it_shows_a_plan_made_before_changes_were_sought(desk):
    run = build.PlanRunFactory(state="done", left_out=[LEFT])
    nothing = {"change": "", "would_help": "", "change_cents": 0}
    assert desk.get(f"/api/plan-runs/{run.public_id}").json()["left_out"] == [{**LEFT, **nothing}]


def test_it_tells_what_a_plan_comes_to_and_how_good_it_is(desk):
    figures: dict[str, object] = {"area_m2": 5200.0, "deadlines_met": 3, "deadlines_owed": 4, "cost_cents": 900_000}
    figures |= {"person_hours": 310.5, "visits": 12, "left_out": 2, "by_fund": {"GRANT": 400_000}}
    fund = {"fund": "GRANT", "name": "Grant", "budget_cents": 500_000, "cost_cents": 400_000}
    fund |= {"level_cents": 450_000, "chance_over": 0.125}
    moved: dict[str, object] = {
        "patch": "KF H-01",
        "prescription": OWN_ID,
        "old_day": "2027-02-01",
        "old_crew": "Hollow crew",
    }
    moved |= {"new_day": None, "new_crew": None, "method": "Cutting", "visit": OWN_ID}
    before = build.PlanRunFactory()
    run = build.PlanRunFactory(
        season=before.season,
        state="done",
        purpose="replan",
        based_on=before,
        figures=figures,
        funds=[fund],
        moved=[moved],
        course=[[0, 1_700_000], [40, 1_400_000]],
        faults=["H-01 stands twice."],
        start_lost_cents=1_700_000,
        lost_cents=1_400_000,
        bound_cents=1_295_000,
    )
    shown = desk.get(f"/api/plan-runs/{run.public_id}").json()
    assert shown["figures"] == figures
    assert (shown["funds"], shown["moved"], shown["faults"]) == ([fund], [moved], ["H-01 stands twice."])
    assert shown["course"] == [[0, 1_700_000], [40, 1_400_000]]
    assert shown["gap"] == pytest.approx(0.075)
    assert (shown["purpose"], shown["based_on"]) == ("replan", str(before.public_id))


def test_it_has_no_gap_before_there_is_a_bound(desk):
    run = build.PlanRunFactory(state="running", lost_cents=1_400_000)
    shown = desk.get(f"/api/plan-runs/{run.public_id}").json()
    assert (shown["gap"], shown["figures"], shown["changes"]["budget_percent"]) == (None, None, 100.0)


def test_it_asks_to_plan_again(desk):
    season = build.SeasonFactory()
    reply = desk.send("/api/plan-runs/again", {"season": str(season.public_id), "iterations": 50, "seed": 7})
    shown = desk.get(reply.headers["Location"]).json()
    assert (reply.status_code, shown["purpose"], shown["iterations"], shown["seed"]) == (202, "replan", 50, 7)


def test_it_asks_what_if(desk):
    season = build.SeasonFactory()
    asked = {"extra_crews": 1, "budget_percent": 90, "no_herbicide": True}
    reply = desk.send("/api/plan-runs/what-if", {"season": str(season.public_id), "exact_work": 2.5, **asked})
    shown = desk.get(reply.headers["Location"]).json()
    assert (reply.status_code, shown["purpose"], shown["exact_work"]) == (202, "what_if", 2.5)
    assert shown["changes"] == {**asked, "like_crew": None}
    assert [row["id"] for row in desk.rows("/api/plan-runs?purpose=what_if")] == [shown["id"]]


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"extra_crews": 4}, "extra_crews"),
        ({"budget_percent": 9}, "budget_percent"),
        ({"budget_percent": 201}, "budget_percent"),
        ({"exact_work": -1, "extra_crews": 1}, "exact_work"),
        ({"exact_work": 3_601, "extra_crews": 1}, "exact_work"),
        ({"iterations": 10_000_001, "extra_crews": 1}, "iterations"),
        ({"seed": -1, "extra_crews": 1}, "seed"),
        ({}, "extra_crews"),
    ],
)
def test_it_names_what_is_wrong_with_a_what_if(desk, more, field):
    body = {"season": str(build.SeasonFactory().public_id), **more}
    reply = desk.send("/api/plan-runs/what-if", body)
    assert (reply.status_code, error_fields(reply)) == (400, [field])
    assert not PlanRun.objects.exists()


FIGURES: dict[str, object] = {
    "area_m2": 1.0,
    "deadlines_met": 1,
    "deadlines_owed": 1,
    "cost_cents": 1,
    "person_hours": 1.0,
}
FIGURES |= {"visits": 1, "left_out": 0, "by_fund": {}}


def test_it_lays_plans_side_by_side(desk):
    season = build.SeasonFactory()
    runs = [
        build.PlanRunFactory(season=season, state="done", title=title, figures={**FIGURES, "visits": visits})
        for title, visits in (("as it is", 12), ("1 more crew", 17))
    ]
    named = ",".join(str(run.public_id) for run in runs)
    plans = desk.get(f"/api/plan-runs/compare?run={named}").json()["plans"]
    assert [(plan["title"], plan["visits"]) for plan in plans] == [("as it is", 12), ("1 more crew", 17)]
    assert [plan["run"] for plan in plans] == named.split(",")


@pytest.mark.parametrize("query", ["", "?run=7", f"?run={OWN_ID},{OWN_ID}", f"?run={','.join([OWN_ID] * 7)}"])
def test_it_names_what_is_wrong_with_a_comparison(desk, query):
    reply = desk.get(f"/api/plan-runs/compare{query}")
    assert (reply.status_code, error_fields(reply)) == (400, ["run"])


def test_it_compares_no_plan_that_is_not_there(desk):
    assert desk.get(f"/api/plan-runs/compare?run={OWN_ID}").status_code == 404


def test_it_drops_a_plan_as_a_whole(desk, planned):
    _, run = planned
    reply = desk.send(f"/api/plan-runs/{run.public_id}/drop")
    assert reply.status_code == 200, reply.json()
    assert reply.json()["dropped_at"] is not None
    assert set(run.visits.values_list("state", flat=True)) == {"dropped"}
    assert desk.send(f"/api/plan-runs/{run.public_id}/accept").status_code == 409
    assert desk.send(f"/api/plan-runs/{run.public_id}/drop").status_code == 409


def test_it_does_not_drop_what_was_accepted(desk, planned):
    _, run = planned
    desk.send(f"/api/plan-runs/{run.public_id}/accept")
    assert desk.send(f"/api/plan-runs/{run.public_id}/drop").status_code == 409


def test_it_accepts_no_what_if(desk, planned):
    _, run = planned
    PlanRun.objects.filter(pk=run.pk).update(purpose="what_if")
    assert desk.send(f"/api/plan-runs/{run.public_id}/accept").status_code == 409


def test_it_tells_why_each_visit_of_a_plan_is_where_it_is(desk, planned):
    _, run = planned
    rows = desk.rows(f"/api/visits?plan_run={run.public_id}")
    assert rows
    assert all(row["because"] and row["plan_run"] == str(run.public_id) for row in rows)
    assert {row["order"] for row in rows} == {None}
