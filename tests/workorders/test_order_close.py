"""A statement is checked for structure, row by row; nothing of a bad one is stored."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from orders import flow
from orders.common.errors import Invalid
from orders.supplies.models import StockMovement
from orders.workorders.models import CloseOut, WorkOrder
from orders.workorders.selectors import order_visits
from orders.workorders.statements import MaterialStated, Outcome, TimeStated
from tests import build
from tests.flow.world import WORK_DAY, issued, statement, world_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return world_build()


@pytest.fixture
def order(world):
    return issued(world)


def _close(world, order, stated):
    return flow.close_order(order=order, statement=stated, stamp=world.stamp(world.lead, WORK_DAY))


def _errors(world, order, **changed):
    with pytest.raises(Invalid) as refused:
        _close(world, order, replace(statement(order), **changed))
    assert (CloseOut.objects.count(), WorkOrder.objects.get().state) == (0, "issued")
    return [(error.field, error.row) for error in refused.value.errors]


def test_it_wants_a_name_to_confirm(world, order):
    assert _errors(world, order, confirmed_by=" ") == [("confirmed_by", None)]


def test_it_wants_an_outcome_for_every_prescription(world, order):
    assert _errors(world, order, outcomes=()) == [("outcomes", None)]


def test_it_refuses_more_than_all(world, order):
    asked = statement(order).outcomes[0].prescription
    assert _errors(world, order, outcomes=(Outcome(asked, 101),)) == [("outcomes.percent_complete", 1)]


def test_it_names_each_row_of_time_that_is_wrong(world, order):
    good = statement(order).times[0]
    times = (
        good,
        replace(good, minutes=0),
        replace(good, person=uuid4()),
        replace(good, visit=uuid4()),
        replace(good, origin="guessed"),
    )
    wrong = [("times.minutes", 2), ("times.person", 3), ("times.visit", 4), ("times.origin", 5)]
    assert _errors(world, order, times=times) == wrong


def test_it_refuses_a_day_of_more_than_24_hours(world, order):
    good = statement(order).times[0]
    times = (replace(good, minutes=900), replace(good, minutes=600))
    assert _errors(world, order, times=times) == [("times.minutes", 2)]


def test_it_refuses_a_unit_that_measures_something_else(world, order):
    visit = order_visits(order).get()
    material = MaterialStated(visit.public_id, build.StockLotFactory().public_id, Decimal(3), "lb")
    assert _errors(world, order, materials=(material,)) == [("materials.unit", 1)]


def test_it_takes_what_was_used_from_its_lot_even_below_zero(world, order):
    visit, lot = order_visits(order).get(), build.StockLotFactory()
    material = MaterialStated(visit.public_id, lot.public_id, Decimal("0.5"), "gal")
    _close(world, order, replace(statement(order), materials=(material,)))
    taken = StockMovement.objects.get(kind="use")
    assert (taken.lot, taken.amount, taken.source_id) == (lot, -1_892_706, material.public_id)


def test_it_closes_what_was_never_started(world, order):
    """The lead forgot the start: what happened is recorded."""
    _close(world, order, statement(order))
    closed = WorkOrder.objects.get()
    assert (closed.state, closed.started_at) == ("closed", WORK_DAY)


def test_it_keeps_how_a_time_came_to_be(world, order):
    good = statement(order).times[0]
    times = (replace(good, public_id=uuid4(), origin="timer"), replace(good, public_id=uuid4(), origin="prefilled"))
    close_out = _close(world, order, replace(statement(order), times=times))
    assert [row.origin for row in close_out.time_entries.order_by("id")] == ["timer", "prefilled"]
    assert isinstance(good, TimeStated)


def test_it_keeps_the_day_on_which_work_was_really_done(world, order):
    stated, later = statement(order), (WORK_DAY + timedelta(days=2)).date()
    times = (replace(stated.times[0], work_date=later), *stated.times[1:])
    close_out = _close(world, order, replace(stated, times=times))
    planned = {visit.public_id: visit.day for visit in order_visits(order)}
    days = dict(close_out.time_entries.values_list("public_id", "work_date"))
    assert days == {time.public_id: time.work_date or planned[time.visit] for time in times}
