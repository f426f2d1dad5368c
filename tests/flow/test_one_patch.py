"""One patch through the whole flow: survey, estimate, plan, order, close, ledger, report that reconciles."""

from decimal import Decimal

import pytest
from django.db.models import Sum

from orders import flow
from orders.common.errors import WrongState
from orders.costs.models import Commitment, LedgerEntry
from orders.planning.models import Prescription, Visit
from orders.workorders.models import WorkOrder
from tests.flow.world import WORK_DAY, drafted, issued, prescribed, statement, world_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return world_build()


def test_it_prescribes_what_is_recommended_with_the_reason(world):
    prescription = prescribed(world)
    assert prescription.why
    assert prescription.window_because.startswith("Opens: ")
    assert prescription.first_day >= world.season.first_day


def test_it_does_not_prescribe_twice(world):
    prescribed(world)
    assert flow.prescribe_season(season=world.season, stamp=world.stamp()) == []


def test_it_drafts_an_order_for_the_planned_visit(world):
    order = drafted(world)
    visit = Visit.objects.get(state="ordered")
    assert (order.number, order.state, order.crew) == (1, "draft", world.crew)
    assert visit.day == order.first_day
    assert Prescription.objects.get().state == "ordered"


def test_it_commits_the_planned_cost_at_issue(world):
    issued(world)
    planned = Commitment.objects.aggregate(total=Sum("amount_cents"))["total"]
    assert planned == Prescription.objects.get().estimate.total_cents


def test_it_refuses_to_start_what_was_not_issued(world):
    with pytest.raises(WrongState):
        flow.start_order(order=drafted(world), stamp=world.stamp())


def _closed(world, **how) -> WorkOrder:
    order = issued(world)
    flow.start_order(order=order, stamp=world.stamp(world.lead, WORK_DAY))
    flow.close_order(order=order, statement=statement(order, **how), stamp=world.stamp(world.lead, WORK_DAY))
    return order


def test_it_posts_each_persons_time_at_their_own_rate(world):
    _closed(world, minutes=300)
    labor = LedgerEntry.objects.filter(category="labor").order_by("amount_cents")
    assert [row.amount_cents for row in labor] == [9_500, 10_500, 12_500]


def test_it_posts_the_drive(world):
    _closed(world)
    drive = LedgerEntry.objects.get(category="mileage")
    assert world.patch.site.drive_miles == Decimal("18.5")
    assert drive.amount_cents == 2683  # 37.0 miles at 72.5 cents are 26.825 dollars, half up


@pytest.mark.parametrize("by", ["order", "site", "method", "fund", "month", "patch", "species", "crew", "category"])
def test_it_reports_the_same_total_whichever_way_it_is_cut(world, by):
    _closed(world)
    report = flow.report_costs(actor=world.finance, by=by)
    spent = LedgerEntry.objects.aggregate(total=Sum("amount_cents"))["total"]
    assert report.total.actual_cents == sum(row.actual_cents for row in report.rows) == spent
    assert report.total.planned_cents == Commitment.objects.aggregate(total=Sum("amount_cents"))["total"]
    assert report.total.actual_minutes == 900


def test_it_finishes_the_prescription_when_all_was_done(world):
    _closed(world)
    assert Prescription.objects.get().state == "done"


def test_it_leaves_the_rest_as_a_prescription(world):
    order = _closed(world, percent=60)
    first, rest = Prescription.objects.order_by("id")
    assert (first.state, rest.state, rest.origin, rest.follows) == ("done", "open", "remainder", first)
    assert rest.share_left == pytest.approx(0.4)
    assert f"work order {order.number}" in rest.why


def test_it_closes_once(world):
    order = _closed(world)
    with pytest.raises(WrongState):
        flow.close_order(order=order, statement=statement(order), stamp=world.stamp(world.lead, WORK_DAY))
