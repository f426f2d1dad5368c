"""After the work is done, what follows it is dated from the real day."""

from datetime import timedelta

import pytest

from orders import corrections, flow
from orders.costs.services.entries import Payer
from orders.costs.services.posting import order_fund
from orders.planning.models import Prescription
from tests import build
from tests.flow.world import BEGIN, WORK_DAY, run_now, statement, world_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    world = world_build()
    pull = build.MethodFactory(code="hand-pull")
    build.ChainRuleFactory(after=pull, method=pull, purpose="revisit", least_days=30, most_days=200, share=0.3)
    flow.estimate_patches(on=BEGIN.date(), stamp=world.stamp())
    flow.prescribe_season(season=world.season, stamp=world.stamp())
    return world


def _first_and_next():
    return Prescription.objects.get(origin="survey"), Prescription.objects.get(origin="follow_up")


def _closed(world, percent=100):
    first, _ = _first_and_next()
    run = run_now(flow.plan_season(season=world.season, stamp=world.stamp()))
    orders = flow.accept_plan(run=run, stamp=world.stamp())
    order = next(order for order in orders if order.order_visits.filter(visit__shares__prescription=first).exists())
    for other in orders:
        if other.pk != order.pk:
            corrections.void_order(order=other, stamp=world.stamp(reason="Only the first is wanted here."))
    order_fund(order=order, shares=[Payer(fund=world.fund, award=None, share_e4=10_000)], stamp=world.stamp())
    flow.issue_order(order=order, stamp=world.stamp())
    stated = statement(order, percent=percent)
    flow.close_order(order=order, statement=stated, stamp=world.stamp(world.lead, WORK_DAY))
    return order


def test_it_dates_the_follow_up_from_the_day_on_which_the_work_was_done(world):
    order = _closed(world)
    _, after = _first_and_next()
    done_on = order.close_outs.get().work_date
    assert after.first_day >= done_on + timedelta(days=30)
    assert done_on.isoformat() in after.window_because


def test_it_waits_while_a_part_of_the_work_is_still_to_be_done(world):
    before = Prescription.objects.get(origin="follow_up").first_day
    _closed(world, percent=40)
    assert Prescription.objects.get(origin="follow_up").first_day == before


def test_it_dates_the_follow_up_when_an_amendment_says_that_all_is_done(world):
    order = _closed(world, percent=40)
    stamp = world.stamp(world.lead, WORK_DAY, "Miscounted.")
    corrections.amend_close_out(order=order, statement=statement(order, percent=100), stamp=stamp)
    _, after = _first_and_next()
    assert order.close_outs.latest("revision").work_date.isoformat() in after.window_because
