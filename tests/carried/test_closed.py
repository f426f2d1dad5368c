"""What the package says of a closed order: enough to state it anew."""

from datetime import timedelta
from decimal import Decimal

import pytest

from orders.bodies.statements import AmendmentIn
from orders.workorders.closing import order_close
from orders.workorders.statements import MaterialStated, Outcome, Statement, TimeStated
from tests.build.tablet_world import tablet_world
from tests.carried.caller import device_of, package
from tests.carried.test_work import order_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return tablet_world()


@pytest.fixture
def closed(world):
    visit = world.herbicide.order_visits.get().visit
    asked = [share.prescription.public_id for share in visit.shares.all()]
    at = world.stamp().at
    who = {"visit": visit.public_id, "person": world.lead.public_id}
    day_before = world.day - timedelta(days=1)
    stated = Statement(
        work_date=world.day,
        happened_at=at,
        confirmed_by="Lena Ward",
        outcomes=tuple(Outcome(prescription, 90, stems_cut=12) for prescription in asked),
        times=(
            TimeStated(minutes=200, origin="timer", prescription=asked[0], work_date=day_before, **who),
            TimeStated(minutes=30, origin="allocated", step="drive", **who),
        ),
        materials=(MaterialStated(visit.public_id, world.lots[0].public_id, value=Decimal("1.50"), unit="qt"),),
        weather={"wind_m_s": 2.0},
        notes="Fence down",
    )
    order_close(order=world.herbicide, statement=stated, stamp=world.stamp(world.lead_user))
    return stated


@pytest.fixture
def told(world, closed, client):
    device_of(world.lead_user)
    return order_of(package(client), world.herbicide)["close_out"]


def test_it_carries_the_statement_as_an_amendment_takes_it(closed, told):
    body = AmendmentIn(data={**told["statement"], "reason": "Counted again"})
    assert body.is_valid(), body.errors
    found = body.validated_data
    assert found["id"] == closed.public_id
    assert {row["prescription"] for row in found["outcomes"]} == {one.prescription for one in closed.outcomes}
    assert {(row["percent_complete"], row["stems_cut"]) for row in found["outcomes"]} == {(90, 12)}
    assert (found["weather"], found["notes"]) == ({"wind_m_s": 2.0}, "Fence down")


def test_it_tells_the_day_of_each_row(world, closed, told):
    rows = {row["step"]: row for row in told["statement"]["times"]}
    assert rows[""]["work_date"] == closed.times[0].work_date.isoformat()
    assert rows["drive"]["work_date"] == world.day.isoformat()
    assert (rows[""]["minutes"], rows[""]["origin"]) == (200, "timer")
    assert (rows["drive"]["minutes"], rows["drive"]["origin"]) == (30, "allocated")


def test_it_names_the_lots_that_were_used(world, told):
    [used] = told["statement"]["materials"]
    lot = world.lots[0]
    assert (used["value"], used["unit"]) == ("1.5", "qt")
    assert told["lots"] == [{"id": used["lot"], "product": lot.product.code, "lot_number": lot.lot_number}]
