"""From prescriptions to an accepted plan: a background run proposes, a person takes it, a stale one is refused."""

from datetime import date, timedelta

import pytest

from estimating.plan_check import check_plan
from estimating.schedule import schedule
from orders import flow
from orders.common.errors import Invalid, WrongState
from orders.common.models.run import CANCELED, DONE
from orders.common.runs import run_cancel, run_claim, run_perform
from orders.estimates.selectors import rate_book_in_force
from orders.planning.convert import demand, season_hours
from orders.planning.models import PlanRun, Visit, VisitShare
from orders.planning.services import PlanOutOfDate, plan_accept, prescription_drop, season_add
from tests import build
from tests.flow.world import BEGIN, prescribed, run_now, world_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return world_build()


def _planned(world) -> PlanRun:
    return run_now(flow.plan_season(season=world.season, stamp=world.stamp()))


def test_it_proposes_visits_that_serve_the_whole_prescription(world):
    prescription = prescribed(world)
    run = _planned(world)
    assert (run.state, run.left_out) == (DONE, [])
    shares = VisitShare.objects.filter(prescription=prescription, visit__plan_run=run)
    assert sum(share.share for share in shares) == pytest.approx(1)
    assert {visit.state for visit in Visit.objects.all()} == {"proposed"}


def test_it_keeps_windows_days_off_and_closures(world):
    prescription = prescribed(world)
    first = prescription.first_day
    build.ClosureFactory(site=world.patch.site, first_day=first, last_day=first + timedelta(days=13))
    day = min(visit.day for visit in _planned(world).visits.all())
    assert first + timedelta(days=13) < day <= prescription.last_day
    assert day.weekday() < 5


def test_it_gives_the_planner_facts_that_its_checker_accepts(world):
    prescribed(world)
    asked = demand(world.season, rate_book_in_force())
    assert check_plan(asked.plan_input, schedule(asked.plan_input, 10)) == ()


def test_it_says_why_a_visit_is_left_out(world):
    prescription = prescribed(world)
    kind = build.QualificationKindFactory(code="diver")
    prescription.method.qualification = kind
    prescription.method.save()
    (left,) = _planned(world).left_out
    assert (left["constraint"], left["patch"]) == ("skills", str(world.patch))
    assert "Diver in KY" in left["because"]


def test_it_refuses_a_plan_whose_inputs_have_changed(world):
    prescribed(world)
    run = _planned(world)
    build.ClosureFactory(site=world.patch.site, first_day=date(2027, 1, 4), last_day=date(2027, 2, 4))
    with pytest.raises(PlanOutOfDate):
        flow.accept_plan(run=run, stamp=world.stamp())
    assert {visit.state for visit in Visit.objects.all()} == {"proposed"}


def test_it_accepts_a_plan_once(world):
    prescribed(world)
    run = _planned(world)
    flow.accept_plan(run=run, stamp=world.stamp())
    with pytest.raises(WrongState):
        flow.accept_plan(run=PlanRun.objects.get(), stamp=world.stamp())


def test_it_drops_the_proposals_of_other_runs(world):
    prescribed(world)
    first, second = _planned(world), _planned(world)
    plan_accept(run=second, fingerprint=second.inputs_fingerprint, stamp=world.stamp())
    states = {visit.plan_run_id: visit.state for visit in Visit.objects.all()}
    assert states == {first.pk: "dropped", second.pk: "planned"}


def test_it_does_not_accept_what_is_not_finished(world):
    prescribed(world)
    run = flow.plan_season(season=world.season, stamp=world.stamp())
    with pytest.raises(WrongState):
        flow.accept_plan(run=run, stamp=world.stamp())


def test_it_keeps_the_best_plan_so_far_when_it_is_stopped(world):
    prescribed(world)
    run = flow.plan_season(season=world.season, iterations=50, stamp=world.stamp())
    attempt = run_claim(run, at=BEGIN)
    assert attempt == 1
    run_cancel(run, at=BEGIN)
    assert run_perform(run, attempt, clock=lambda: BEGIN) == DONE
    run.refresh_from_db()
    assert (run.was_stopped, run.visits.filter(state="proposed").exists()) == (True, True)
    flow.accept_plan(run=run, stamp=world.stamp())


def test_it_plans_nothing_for_a_run_that_was_canceled_while_it_waited(world):
    prescribed(world)
    run = flow.plan_season(season=world.season, iterations=50, stamp=world.stamp())
    run_cancel(run, at=BEGIN)
    assert run_claim(PlanRun.objects.get(), at=BEGIN) is None
    assert (PlanRun.objects.get().state, Visit.objects.count()) == (CANCELED, 0)


def test_it_makes_the_same_plan_from_the_same_rounds(world):
    prescribed(world)
    asked = demand(world.season, rate_book_in_force())
    assert schedule(asked.plan_input, 25) == schedule(asked.plan_input, 25)


def test_it_sums_a_seasons_hours_with_their_range(world):
    prescription = prescribed(world)
    fit = season_hours(world.season)
    assert fit.low < fit.likely < fit.high
    assert fit.likely == pytest.approx(prescription.estimate.hours_likely, rel=0.02)


def test_it_has_no_hours_in_an_empty_season(world):
    assert season_hours(world.season).mean == 0


def test_it_drops_a_prescription_with_a_reason(world):
    prescription = prescribed(world)
    with pytest.raises(Invalid):
        prescription_drop(prescription=prescription, stamp=world.stamp())
    prescription_drop(prescription=prescription, stamp=world.stamp(reason="The owner will mow it."))
    assert flow.prescribe_season(season=world.season, stamp=world.stamp()) != []


def test_it_refuses_a_season_that_ends_before_it_begins(world):
    with pytest.raises(Invalid):
        season_add(name="odd", first_day=date(2028, 2, 1), last_day=date(2028, 1, 1), stamp=world.stamp())
