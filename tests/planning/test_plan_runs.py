"""What a plan's run keeps: figures, money, reasons, its course and bound; stopped, faulty, dropped."""

from datetime import timedelta

import pytest

from orders import flow
from orders.common.errors import Invalid, WrongState
from orders.common.models.run import CANCELED, DONE
from orders.common.runs import run_cancel, run_claim, run_perform
from orders.planning.figures import PlanFigures
from orders.planning.models import PlanBoundRun, PlanRun, Prescription, Visit
from orders.planning.services import PlanFaulty
from orders.planning.what_if import WhatIf
from tests import build
from tests.flow.world import BEGIN, run_now, world_build
from tests.planning.small import FRIDAY, MONDAY, accepted, asked, other_crew, planned

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return world_build()


def _what_if(world, **how) -> PlanRun:
    return run_now(flow.plan_what_if(season=world.season, what=WhatIf(**how), stamp=world.stamp()))


def _bound(run: PlanRun) -> PlanBoundRun:
    row = run.bound_runs.get()
    attempt = run_claim(row, at=BEGIN)
    assert attempt is not None
    run_perform(row, attempt, clock=lambda: BEGIN)
    return PlanBoundRun.objects.get(pk=row.pk)


def test_it_tells_the_course_of_the_search_and_a_bound_below_it(world):
    for code in "ABCDEF":
        asked(world, code, 0.6)
    run = planned(world, iterations=30, seed=4, exact_work=0.1)
    costs = [cents for _, cents in run.course]
    assert costs == sorted(costs, reverse=True)
    assert (run.start_lost_cents, run.lost_cents) == (costs[0], costs[-1])
    assert run.bound_cents is not None
    assert run.bound_cents <= costs[-1]
    assert (run.faults, run.was_stopped) == ([], False)


def test_it_counts_owed_work_that_is_left_out_at_its_own_worth(world):
    begun = build.PatchFactory(site=world.patch.site, control_state="under_treatment")
    asked(world, "A", 0.5, patch=begun, last_day=MONDAY)
    asked(world, "B", 0.9, patch=begun, last_day=MONDAY)
    run = planned(world, iterations=5)
    assert len(run.left_out) == 1
    assert run.course[-1][1] == run.lost_cents
    assert run.course[-1][1] < 10_000_000


def test_it_says_why_each_visit_is_where_it_is(world):
    asked(world, "A")
    (visit,) = planned(world).visits.all()
    assert visit.because
    assert all(isinstance(text, str) and text.endswith(".") for text in visit.because)
    assert "Hollow crew" in " ".join(visit.because)


def test_it_names_the_patch_where_a_reason_is_not_that_of_all_on_the_visit(world):
    first = asked(world, "A", 0.3, last_day=MONDAY)
    second = asked(world, "B", 0.3)
    (visit,) = planned(world).visits.all()
    said = visit.because
    assert visit.shares.count() == 2
    for prescription in (first, second):
        assert any(text.startswith(f"{prescription.patch}: Its window is") for text in said)
    assert any(not text.startswith(str(first.patch.site.code)) for text in said)


def test_it_says_what_would_let_a_visit_in(world):
    for code in "AB":
        asked(world, code, last_day=MONDAY)
    (left,) = planned(world).left_out
    assert (left["constraint"], left["change"]) == ("crew time", "crew day")
    assert "Hollow crew" in left["would_help"]
    assert left["change_cents"] > 0


def test_it_says_that_a_window_was_over_when_the_plan_was_asked_for(world):
    asked(world, "A")
    late = world.stamp(at=BEGIN.replace(year=2027, month=3, day=8))
    (left,) = run_now(flow.plan_season(season=world.season, stamp=late)).left_out
    assert (left["constraint"], left["because"]) == ("window", "Its window was over when the plan was asked for.")


def test_it_tells_money_by_fund_with_the_chance_of_spending_too_much(world):
    world.season.budget_cents = 500_000
    world.season.save()
    fund = build.SeasonFundFactory(season=world.season, code="GRANT", name="A grant", budget_cents=90_000)
    asked(world, "A", 0.5, fund=fund)
    season, grant = planned(world).funds
    assert [(use["fund"], use["name"], use["budget_cents"]) for use in (season, grant)] == [
        ("", "The season's budget", 500_000),
        ("GRANT", "A grant", 90_000),
    ]
    assert 0 < grant["cost_cents"] == season["cost_cents"]
    assert 0 <= season["chance_over"] <= grant["chance_over"] < 1


def test_it_counts_ground_once_and_deadlines_that_are_met(world):
    cut = asked(world, "A", 0.3, estimate__treated_area_m2=400.0, seed_due_on=FRIDAY)
    asked(
        world,
        "A",
        0.3,
        patch=cut.patch,
        method=build.MethodFactory(code="hand-pull"),
        estimate__treated_area_m2=300.0,
        seed_due_on=MONDAY - timedelta(days=1),
    )
    asked(world, "B", 0.3, estimate__treated_area_m2=50.0)
    run = planned(world)
    figures = PlanFigures.of(run)
    assert figures is not None
    assert (figures.area_m2, figures.deadlines_met, figures.deadlines_owed) == (450.0, 1, 2)
    assert (figures.left_out, figures.cost_cents) == (0, run.cost_cents)
    hours = sum(share.planned_hours for visit in run.visits.all() for share in visit.shares.all())
    assert figures.person_hours == pytest.approx(hours, abs=0.01)
    assert figures.visits == run.visits.count()


def test_it_refuses_a_plan_in_which_the_check_found_faults(world):
    asked(world, "A")
    run = planned(world)
    run.faults = ["crew Hollow crew works 30 person-hours on 2027-03-01"]
    run.save()
    with pytest.raises(PlanFaulty, match="faults"):
        flow.accept_plan(run=run, stamp=world.stamp())
    assert Visit.objects.get().state == "proposed"


def test_it_drops_a_plan_whole(world):
    asked(world, "A")
    run = planned(world)
    flow.drop_plan(run=run, stamp=world.stamp())
    run.refresh_from_db()
    assert (run.dropped_at, Visit.objects.get().state) == (BEGIN, "dropped")
    for again in (flow.drop_plan, flow.accept_plan):
        with pytest.raises(WrongState):
            again(run=run, stamp=world.stamp())
    assert Prescription.objects.get().state == "open"


def test_it_tightens_the_bound_in_a_run_of_its_own(world):
    for code in "ABCD":
        asked(world, code, 0.7)
    run = planned(world)
    row = _bound(run)
    assert (row.state, row.steps > 0) == (DONE, True)
    after = PlanRun.objects.get(pk=run.pk)
    assert None not in (run.bound_cents, after.bound_cents, after.lost_cents)
    assert sorted([run.bound_cents or 0, after.bound_cents or 0]) == [run.bound_cents, after.bound_cents]
    assert (after.bound_cents or 0) <= (after.lost_cents or 0)


def test_it_leaves_the_bound_of_a_plan_whose_facts_have_changed(world):
    asked(world, "A")
    run = planned(world)
    asked(world, "B")
    row = _bound(run)
    assert (row.state, row.steps) == (DONE, 0)
    assert PlanRun.objects.get(pk=run.pk).bound_cents == run.bound_cents


def test_it_stops_tightening_for_a_newer_plan(world):
    for code in "ABCD":
        asked(world, code, 0.7, last_day=MONDAY)
    run = planned(world)
    flow.plan_season(season=world.season, stamp=world.stamp())
    assert _bound(run).steps <= 1


def test_it_lets_the_tightening_be_canceled(world):
    asked(world, "A")
    row = planned(world).bound_runs.get()
    run_cancel(row, at=BEGIN)
    assert PlanBoundRun.objects.get(pk=row.pk).state == CANCELED


def test_it_looks_at_a_what_if_without_visits_and_never_accepts_it(world):
    for code in "AB":
        asked(world, code, last_day=MONDAY)
    run = _what_if(world, extra_crews=1)
    assert (run.title, run.visits.count(), run.left_out) == ("1 more crew", 0, [])
    assert not run.bound_runs.exists()
    with pytest.raises(WrongState):
        flow.accept_plan(run=run, stamp=world.stamp())


def test_it_lays_plans_side_by_side(world):
    for code in "AB":
        asked(world, code, last_day=MONDAY)
    real = planned(world)
    more = _what_if(world, extra_crews=1)
    waiting = flow.plan_season(season=world.season, stamp=world.stamp())
    first, second = flow.compare_plans(runs=[real, more, waiting])
    assert (first.run, second.run) == (real, more)
    assert (first.left_out, second.left_out) == (1, 0)
    assert second.area_m2 == 2 * first.area_m2


def test_it_may_move_what_is_on_orders_in_a_what_if_but_not_what_was_done(world):
    asked(world, "A", 0.5, last_day=MONDAY)
    asked(world, "B", 0.5, last_day=MONDAY)
    accepted(world)
    Visit.objects.update(state="done")
    asked(world, "C", 0.5, last_day=MONDAY)
    assert [left["patch"][-1] for left in _what_if(world, budget_percent=90).left_out] == ["C"]


def test_it_copies_the_crew_that_is_named(world):
    other_crew(people=1)
    ridge = other_crew("Ravine crew", people=2)
    asked(world, "A")
    run = _what_if(world, extra_crews=1, like_crew=ridge.public_id)
    assert WhatIf.of_json(run.changes) == WhatIf(extra_crews=1, like_crew=ridge.public_id)


@pytest.mark.parametrize(
    ("how", "field"),
    [({}, "extra_crews"), ({"extra_crews": -1}, "extra_crews"), ({"budget_percent": 0}, "budget_percent")],
)
def test_it_refuses_a_what_if_that_asks_nothing(world, how, field):
    with pytest.raises(Invalid) as refused:
        flow.plan_what_if(season=world.season, what=WhatIf(**how), stamp=world.stamp())
    assert [error.field for error in refused.value.errors] == [field]
    assert not PlanRun.objects.exists()


@pytest.mark.parametrize(
    ("what", "words"),
    [
        (WhatIf(extra_crews=1), "1 more crew"),
        (WhatIf(extra_crews=2, budget_percent=90), "2 more crews, 10% less money"),
        (WhatIf(budget_percent=112.5, no_herbicide=True), "12.5% more money, no herbicide"),
    ],
)
def test_it_says_a_what_if_in_words(what, words):
    assert what.words() == words
    assert WhatIf.of_json(what.as_json()) == what
