"""Planning again after something changed: little moves, it is taken or dropped whole, and orders follow."""

from collections import Counter
from datetime import timedelta

import pytest

from orders import flow
from orders.common.models import ChangeAudience
from orders.costs.models import Commitment
from orders.costs.services.entries import Payer
from orders.costs.services.posting import order_fund
from orders.planning.convert import demand_of
from orders.planning.models import Prescription, Visit, VisitShare
from orders.planning.services import PlanOutOfDate
from orders.workorders.guards import LicenseMissing
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_visits
from orders.workorders.services import visit_not_done
from tests import build
from tests.flow.world import WORK_DAY, run_now, statement, world_build
from tests.planning.small import FRIDAY, MONDAY, accepted, asked, other_crew, replanned, standing

pytestmark = pytest.mark.django_db
TUESDAY = MONDAY + timedelta(days=1)


@pytest.fixture
def world():
    return world_build()


def _week_planned(world, codes="ABC", crew_days=0.9):
    """A visit a day from Monday on, one a patch; each on an order of the week."""
    for number, code in enumerate(codes):
        asked(world, code, crew_days, last_day=FRIDAY, first_day=MONDAY + timedelta(days=number))
    return accepted(world)


def _issue(world, order):
    order_fund(order=order, shares=[Payer(fund=world.fund, award=None, share_e4=10_000)], stamp=world.stamp())
    return flow.issue_order(order=order, stamp=world.stamp())


def _away(world, day=MONDAY):
    """The whole crew is sick on a day."""
    build.AbsenceFactory(crew=world.crew, first_day=day, last_day=day)


def _accept(world, run):
    return flow.accept_plan(run=run, stamp=world.stamp())


def _versions():
    return {row.pk: row.version for row in (*Visit.objects.all(), *WorkOrder.objects.all())}


def test_it_moves_nothing_when_nothing_changed(world):
    _week_planned(world)
    run = replanned(world)
    before = standing(), _versions()
    assert (run.moved, run.visits.count()) == ([], 0)
    assert _accept(world, run) == []
    assert (standing(), _versions()) == before


def test_it_moves_only_the_visit_of_the_lost_day_and_its_order_follows(world):
    (order,) = _week_planned(world, "AB")
    _issue(world, order)
    _away(world)
    run = replanned(world)
    assert [(row["patch"][-1], row["old_day"]) for row in run.moved] == [("A", MONDAY.isoformat())]
    stays = Visit.objects.get(shares__prescription__patch__code="B", state="ordered")
    assert _accept(world, run) == []
    (first, second) = standing()
    assert (first[0], first[1] > TUESDAY, second) == ("A", True, ("B", TUESDAY, "Hollow crew"))
    assert Visit.objects.get(shares__prescription__patch__code="A", state="ordered").because == run.visits.get().because
    order.refresh_from_db()
    assert (order.first_day, order.last_day, order.state) == (TUESDAY, first[1], "issued")
    assert Visit.objects.get(pk=stays.pk).version == stays.version
    told = ChangeAudience.objects.filter(change__verb="order_visits_move")
    assert list(told.values_list("crew_id", "gone")) == [(world.crew.public_id, False)]


def test_it_shows_old_beside_new_and_why_before_it_is_taken(world):
    _week_planned(world, "A")
    _away(world)
    run = replanned(world)
    (row,), (visit,) = run.moved, run.visits.all()
    old = Visit.objects.get(state="ordered")
    assert (row["old_crew"], row["new_crew"]) == ("Hollow crew", "Hollow crew")
    assert (row["old_day"], row["new_day"]) == (MONDAY.isoformat(), visit.day.isoformat())
    assert (visit.replaces, visit.state, bool(visit.because)) == (old, "proposed", True)
    assert run.figures["visits"] == 1


def test_it_changes_nothing_when_it_is_dropped(world):
    _week_planned(world)
    _away(world)
    before = standing(), _versions()
    run = replanned(world)
    flow.drop_plan(run=run, stamp=world.stamp())
    after = {key: version for key, version in _versions().items() if key in before[1]}
    assert (standing(), after) == before
    assert {visit.state for visit in run.visits.all()} == {"dropped"}


def test_it_gives_a_visit_to_another_crew_on_a_draft_of_its_own(world):
    (order,) = _week_planned(world, "A")
    _issue(world, order)
    other_crew()
    build.AbsenceFactory(crew=world.crew, first_day=MONDAY, last_day=FRIDAY)
    (draft,) = _accept(world, replanned(world))
    order.refresh_from_db()
    assert (order.state, order.void_reason) == ("void", "Planned again")
    assert (draft.state, draft.crew.name) == ("draft", "Ridge crew")
    assert [crew for _, _, crew in standing()] == ["Ridge crew"]
    assert Prescription.objects.get().state == "ordered"
    assert sum(row.amount_cents for row in Commitment.objects.all()) == 0


def test_it_takes_back_the_planned_cost_of_the_visit_that_leaves_and_no_more(world):
    (order,) = _week_planned(world, "AB")
    _issue(world, order)
    other_crew()
    asked_for = Prescription.objects.get(patch__code="A")
    asked_for.last_day = MONDAY
    asked_for.save()
    _away(world)
    (draft,) = _accept(world, replanned(world))
    order.refresh_from_db()
    assert (order.state, order_visits(order).count(), order.first_day) == ("issued", 1, TUESDAY)
    left: Counter[str] = Counter()
    for code, cents in Commitment.objects.values_list("prescription__patch__code", "amount_cents"):
        left[code] += cents
    assert set(left) == {"A", "B"}
    assert (left["A"], left["B"] > 0) == (0, True)
    _issue(world, draft)
    assert sum(row.amount_cents for row in Commitment.objects.filter(order=draft)) > 0


def test_it_plans_a_visit_that_was_called_off_again(world):
    (order,) = _week_planned(world, "AB")
    _issue(world, order)
    rained = order_visits(order).get(day=MONDAY)
    visit_not_done(order=order, visit=rained, stamp=world.stamp(reason="Rain."))
    run = replanned(world)
    assert [(row["patch"][-1], row["new_day"] is not None) for row in run.moved] == [("A", True)]
    (draft,) = _accept(world, run)
    rained.refresh_from_db()
    assert (rained.state, draft.crew) == ("dropped", world.crew)
    order.refresh_from_db()
    assert (order.state, order_visits(order).count()) == ("issued", 1)
    shares = VisitShare.objects.filter(prescription__patch__code="A").exclude(visit__state="dropped")
    assert sum(share.share for share in shares) == pytest.approx(1)


def test_it_does_not_ask_twice_for_work_that_was_called_off_and_planned_again(world):
    (order,) = _week_planned(world, "AB")
    _issue(world, order)
    rained = order_visits(order).get(day=MONDAY)
    visit_not_done(order=order, visit=rained, stamp=world.stamp(reason="Rain."))
    _accept(world, replanned(world))
    order.refresh_from_db()
    flow.close_order(order=order, statement=statement(order), stamp=world.stamp(world.lead, WORK_DAY))
    assert not Prescription.objects.filter(origin="remainder").exists()
    assert {row.patch.code: row.state for row in Prescription.objects.all()} == {"A": "ordered", "B": "done"}


def test_it_puts_the_rest_of_a_part_done_order_into_the_plan(world):
    (order,) = _week_planned(world, "A", 0.6)
    _issue(world, order)
    flow.close_order(order=order, statement=statement(order, percent=50), stamp=world.stamp(world.lead, WORK_DAY))
    run = replanned(world)
    (row,) = run.moved
    assert (row["old_day"], row["new_day"] is not None) == (None, True)
    (draft,) = _accept(world, run)
    rest = Prescription.objects.get(origin="remainder")
    assert (rest.state, draft.order_visits.get().visit.shares.get().prescription) == ("ordered", rest)


def test_it_leaves_what_was_started_kept_or_done_where_it_is(world):
    orders = _week_planned(world)
    kept = Visit.objects.get(shares__prescription__patch__code="A")
    kept.is_kept = True
    kept.save()
    _away(world)
    assert replanned(world).moved == []
    kept.is_kept = False
    kept.save()
    flow.start_order(order=_issue(world, orders[0]), stamp=world.stamp())
    assert replanned(world).moved == []


def test_it_leaves_out_what_no_longer_fits_and_opens_it_again(world):
    _week_planned(world, "AB")
    lost = Prescription.objects.get(patch__code="A")
    lost.last_day = MONDAY
    lost.save()
    _away(world)
    run = replanned(world)
    (row,) = run.moved
    assert (row["patch"][-1], row["new_day"]) == ("A", None)
    assert _accept(world, run) == []
    lost.refresh_from_db()
    assert (lost.state, [code for code, _, _ in standing()]) == ("open", ["B"])


def test_it_keeps_a_visit_of_which_only_a_part_goes_elsewhere(world):
    for code in "AB":
        asked(world, code, 0.4, last_day=MONDAY if code == "B" else FRIDAY)
    (order,) = accepted(world)
    both = order_visits(order).get()
    assert both.shares.count() == 2
    moving = Prescription.objects.get(patch__code="A")
    moving.first_day = TUESDAY
    moving.save()
    (draft,) = _accept(world, replanned(world))
    both.refresh_from_db()
    assert (both.state, both.day, both.shares.get().prescription.patch.code) == ("ordered", MONDAY, "B")
    assert [code for code, day, _ in standing() if day > MONDAY] == ["A"]
    assert {row.state for row in Prescription.objects.all()} == {"ordered"}
    assert draft.state == "draft"


def test_it_refuses_the_whole_where_an_issued_order_may_not_be_worked_on_its_new_day(world):
    method = build.MethodFactory(code="cut")
    kind = build.QualificationKindFactory(code="sawyer")
    method.qualification = kind
    method.save()
    person = world.crew.memberships.order_by("id").first().person
    held = build.QualificationFactory(person=person, kind=kind, jurisdiction=world.patch.site.jurisdiction)
    (order,) = _week_planned(world, "A")
    _issue(world, order)
    _away(world)
    run = replanned(world)
    before = standing(), _versions()
    # The plan is made and its facts stay; the guard looks at the order by itself.
    held.delete()
    run.inputs_fingerprint = demand_of(run).fingerprint
    run.save()
    with pytest.raises(LicenseMissing):
        _accept(world, run)
    assert (standing(), _versions()) == before
    run.refresh_from_db()
    assert run.accepted_at is None


def test_it_refuses_a_plan_made_again_whose_facts_have_changed(world):
    _week_planned(world)
    _away(world)
    run = replanned(world)
    _away(world, TUESDAY)
    with pytest.raises(PlanOutOfDate):
        _accept(world, run)


def test_it_does_not_touch_days_that_are_over(world):
    _week_planned(world)
    _away(world)
    later = world.stamp(at=WORK_DAY.replace(month=3, day=2))
    assert run_now(flow.plan_again(season=world.season, stamp=later)).moved == []
