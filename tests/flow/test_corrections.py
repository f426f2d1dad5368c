"""What was wrong is put right by new rows: amended, void, reassigned, called off."""

from uuid import uuid4

import pytest
from django.db.models import Sum

from orders import corrections, flow
from orders.common.errors import Invalid, WrongState
from orders.common.models import ChangeAudience
from orders.costs.models import Commitment, LedgerEntry
from orders.costs.services.entries import Payer
from orders.planning.models import Prescription, VisitShare
from orders.planning.services import plan_accept
from orders.workorders.models import CloseOut, TimeEntry
from orders.workorders.selectors import order_visits
from orders.workorders.services import visit_not_done
from tests import build
from tests.flow.world import WORK_DAY, drafted, issued, prescribed, run_now, statement, world_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return world_build()


@pytest.fixture
def closed(world):
    order = issued(world)
    flow.start_order(order=order, stamp=world.stamp(world.lead, WORK_DAY))
    flow.close_order(order=order, statement=statement(order, percent=60), stamp=world.stamp(world.lead, WORK_DAY))
    return order


def _amend(world, order, reason="Miscounted.", **how):
    stamp = world.stamp(world.lead, WORK_DAY, reason)
    return corrections.amend_close_out(order=order, statement=statement(order, **how), stamp=stamp)


def _spent():
    return LedgerEntry.objects.aggregate(total=Sum("amount_cents"))["total"]


def test_it_amends_by_a_new_statement_that_points_at_the_old(world, closed):
    amended = _amend(world, closed, minutes=360)
    first, second = CloseOut.objects.order_by("revision")
    assert (amended, second.amends, second.reason) == (second, first, "Miscounted.")
    assert TimeEntry.objects.filter(close_out=first).count() == 3


def test_it_reverses_and_posts_again(world, closed):
    before = _spent()
    _amend(world, closed, minutes=600)
    labor = LedgerEntry.objects.filter(category="labor")
    assert labor.filter(reverses__isnull=False).count() == labor.filter(revision=1, reverses__isnull=True).count() == 3
    assert _spent() - before == 32_500
    report = flow.report_costs(actor=world.finance, by="order")
    assert (report.total.actual_cents, report.total.actual_minutes) == (_spent(), 1800)


def test_it_states_what_is_left_anew(world, closed):
    _amend(world, closed, percent=100)
    assert [row.state for row in Prescription.objects.order_by("id")] == ["done", "dropped"]


def test_it_amends_an_amendment(world, closed):
    _amend(world, closed, minutes=400)
    _amend(world, closed, minutes=300)
    assert [row.revision for row in CloseOut.objects.order_by("id")] == [1, 2, 3]
    assert flow.report_costs(actor=world.finance, by="order").total.actual_minutes == 900


def test_it_wants_a_reason_for_an_amendment(world, closed):
    with pytest.raises(Invalid):
        _amend(world, closed, reason="")
    assert CloseOut.objects.count() == 1


def test_it_does_not_amend_what_is_open(world):
    with pytest.raises(WrongState):
        _amend(world, issued(world))


def test_it_voids_and_takes_the_planned_cost_back(world):
    order = corrections.void_order(order=issued(world), stamp=world.stamp(reason="The gate is locked."))
    assert order.state == "void"
    assert Commitment.objects.aggregate(total=Sum("amount_cents"))["total"] == 0
    assert Prescription.objects.get().state == "open"


def test_it_wants_a_reason_for_a_void(world):
    with pytest.raises(Invalid):
        corrections.void_order(order=issued(world), stamp=world.stamp())


def test_it_does_not_void_what_was_done(world, closed):
    with pytest.raises(WrongState):
        corrections.void_order(order=closed, stamp=world.stamp(reason="Too late."))


def test_it_plans_again_what_was_void(world):
    corrections.void_order(order=issued(world), stamp=world.stamp(reason="The gate is locked."))
    assert drafted_again(world).number == 2


def drafted_again(world):
    run = run_now(flow.plan_season(season=world.season, stamp=world.stamp()))
    return flow.accept_plan(run=run, stamp=world.stamp())[0]


def test_it_leaves_a_tombstone_when_an_order_changes_crews(world):
    order, other = issued(world), build.CrewFactory(name="Ridge crew", people=2)
    corrections.reassign_order(order=order, crew=other, stamp=world.stamp())
    told = ChangeAudience.objects.filter(change__verb="order_reassign").values_list("crew_id", "gone")
    assert dict(told) == {world.crew.public_id: True, other.public_id: False}


def test_it_calls_a_visit_off_with_the_reason(world):
    order = issued(world)
    visit = order_visits(order).get()
    visit_not_done(order=order, visit=visit, stamp=world.stamp(reason="Rain."))
    visit.refresh_from_db()
    assert (visit.state, visit.not_done_reason) == ("not_done", "Rain.")


def test_it_wants_a_reason_to_call_a_visit_off(world):
    order = issued(world)
    with pytest.raises(Invalid):
        visit_not_done(order=order, visit=order_visits(order).get(), stamp=world.stamp())


def test_it_drops_the_draft_of_a_void_order(world):
    order = corrections.void_order(order=drafted(world), stamp=world.stamp(reason="Planned twice."))
    assert (order.state, Commitment.objects.count()) == ("void", 0)


def test_it_keeps_wanting_the_part_that_found_no_place_in_the_plan(world):
    asked = _with_room_for_a_day(prescribed(world))
    run = run_now(flow.plan_season(season=world.season, stamp=world.stamp()))
    assert [left["constraint"] for left in run.left_out]
    share = Payer(fund=world.fund, award=None, share_e4=10_000)
    (order,) = flow.accept_plan(run=run, funding=[share], stamp=world.stamp())
    flow.issue_order(order=order, stamp=world.stamp())
    flow.close_order(order=order, statement=statement(order), stamp=world.stamp(world.lead, WORK_DAY))
    asked.refresh_from_db()
    assert (asked.state, Prescription.objects.count()) == ("open", 1)

    Prescription.objects.update(last_day=world.season.last_day)
    again = run_now(flow.plan_season(season=world.season, stamp=world.stamp()))
    planned = VisitShare.objects.filter(visit__plan_run__in=[run, again])
    assert sum(row.share for row in planned) == pytest.approx(1)


def _with_room_for_a_day(prescription):
    """So much to do that one crew-day, which is all that its window leaves, is only a part of it."""
    bigger = type(prescription.estimate).objects.get(pk=prescription.estimate_id)
    bigger.pk, bigger.public_id, bigger.fingerprint, bigger.crew_days = None, uuid4(), "b" * 64, 3.0
    bigger.total_cents = 500_000  # worth the drive
    bigger.save(force_insert=True)
    prescription.estimate, prescription.last_day = bigger, prescription.first_day
    prescription.save()
    return prescription


def test_it_calls_a_prescription_open_again_when_a_new_plan_leaves_it_out(world):
    asked = prescribed(world)
    run = run_now(flow.plan_season(season=world.season, stamp=world.stamp()))
    plan_accept(run=run, fingerprint=run.inputs_fingerprint, stamp=world.stamp())
    build.ClosureFactory(site=world.patch.site, first_day=asked.first_day, last_day=asked.last_day)
    without = run_now(flow.plan_season(season=world.season, stamp=world.stamp()))
    plan_accept(run=without, fingerprint=without.inputs_fingerprint, stamp=world.stamp())
    asked.refresh_from_db()
    assert (asked.state, [left["constraint"] for left in without.left_out]) == ("open", ["closed"])
