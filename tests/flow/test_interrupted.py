"""A close that is interrupted between any two statements leaves nothing half written, and can be tried again."""

import pytest
from django.db import connection
from django.db.models import Sum

from orders import corrections, flow
from orders.costs.models import LedgerEntry
from orders.planning.models import Prescription
from orders.supplies.models import StockMovement
from orders.workorders.models import CloseOut, TimeEntry, WorkOrder
from tests.flow.world import WORK_DAY, issued, statement, world_build

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


def _cut_everywhere(act, most=400):
    """Act with the cut after 0, 1, 2, ... statements until one goes through whole; returns how many were cut."""
    before = _facts()
    for after in range(most):
        scissors = Scissors(after)
        try:
            with connection.execute_wrapper(scissors):
                act()
        except Cut:
            assert _facts() == before, f"half written after {after} statements"
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

    assert _cut_everywhere(close) > 30
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

    assert _cut_everywhere(amend) > 30
    assert _facts()[2][0] == 2
