"""A write that is interrupted between any two statements leaves nothing half written, and can be tried again."""

from datetime import timedelta

import pytest
from django.db import connection
from django.db.models import Sum

from orders import corrections, flow
from orders.common.models import Change
from orders.costs.models import Commitment, LedgerEntry
from orders.costs.services.entries import Payer
from orders.costs.services.posting import order_fund
from orders.planning.models import PlanRun, Prescription, Visit, VisitShare
from orders.supplies.models import StockMovement
from orders.workorders.models import CloseOut, OrderVisit, TimeEntry, WorkOrder
from tests import build
from tests.flow.world import WORK_DAY, issued, statement, world_build
from tests.planning.small import FRIDAY, MONDAY, accepted, asked, other_crew, replanned, standing

pytestmark = pytest.mark.django_db(transaction=True)


class Cut(Exception):
    """The power is gone."""


class Scissors:
    """Lets `after` statements through, then cuts."""

    def __init__(self, after: int) -> None:
        self.left = after
        self.cut = False

    def __call__(self, execute, sql, params, many, context):
        if sql.split(" ", 1)[0] in {"SELECT", "INSERT", "UPDATE", "DELETE"}:
            self.left -= 1
            if self.left < 0:
                self.cut = True
                raise Cut
        return execute(sql, params, many, context)


def _facts():
    order = WorkOrder.objects.get()
    counts = tuple(model.objects.count() for model in (CloseOut, TimeEntry, LedgerEntry, StockMovement, Prescription))
    return order.state, order.version, counts, LedgerEntry.objects.aggregate(total=Sum("amount_cents"))["total"]


def cut_everywhere(act, most=400, facts=_facts):
    """Act with the cut after 0, 1, 2, ... statements until one goes through whole; returns how many were cut."""
    before = facts()
    for after in range(most):
        scissors = Scissors(after)
        try:
            with connection.execute_wrapper(scissors):
                act()
        except Cut:
            assert facts() == before, f"half written after {after} statements"
        else:
            return after
    pytest.fail("it never went through")


def test_it_closes_whole_or_not_at_all():
    world = world_build()
    issued(world)

    def close():
        order = WorkOrder.objects.get()
        stated = statement(order, percent=70)
        flow.close_order(order=order, statement=stated, stamp=world.stamp(world.lead, WORK_DAY))

    assert cut_everywhere(close) > 30
    state, _, counts, spent = _facts()
    assert (state, counts) == ("closed", (1, 3, 4, 0, 2))
    assert spent == flow.report_costs(actor=world.finance, by="fund").total.actual_cents > 0


def test_it_amends_whole_or_not_at_all():
    world = world_build()
    order = issued(world)
    flow.close_order(order=order, statement=statement(order, percent=70), stamp=world.stamp(world.lead, WORK_DAY))

    def amend():
        order = WorkOrder.objects.get()
        stamp = world.stamp(world.lead, WORK_DAY, "Miscounted.")
        corrections.amend_close_out(order=order, statement=statement(order, minutes=400), stamp=stamp)

    assert cut_everywhere(amend) > 30
    assert _facts()[2][0] == 2


def _plan_facts():
    """Every row that taking a plan made again may touch."""
    columns = ("pk", "state", "version")
    states = [list(m.objects.order_by("pk").values_list(*columns)) for m in (Visit, WorkOrder, Prescription)]
    days = list(Visit.objects.order_by("pk").values_list("day", "crew"))
    counts = tuple(model.objects.count() for model in (VisitShare, OrderVisit, Commitment, Change))
    return states, days, counts, list(PlanRun.objects.order_by("pk").values_list("accepted_at"))


def test_it_takes_a_plan_made_again_whole_or_not_at_all():
    world = world_build()
    for number, code in enumerate("AB"):
        asked(world, code, 0.9, first_day=MONDAY + timedelta(days=number), last_day=FRIDAY)
    (order,) = accepted(world)
    order_fund(order=order, shares=[Payer(fund=world.fund, award=None, share_e4=10_000)], stamp=world.stamp())
    flow.issue_order(order=order, stamp=world.stamp())
    Prescription.objects.filter(patch__code="A").update(last_day=MONDAY)
    other_crew()
    for day in (MONDAY, MONDAY + timedelta(days=1)):
        build.AbsenceFactory(crew=world.crew, first_day=day, last_day=day)
    run = replanned(world)

    def take():
        flow.accept_plan(run=PlanRun.objects.get(pk=run.pk), stamp=world.stamp())

    assert cut_everywhere(take, facts=_plan_facts) > 60
    crews = {code: crew for code, _, crew in standing()}
    assert crews == {"A": "Ridge crew", "B": "Hollow crew"}
    assert min(day for code, day, _ in standing() if code == "B") > MONDAY + timedelta(days=1)
