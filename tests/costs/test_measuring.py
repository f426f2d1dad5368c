"""Equipment hours and trips stand instead of what a close-out works out by itself, before and after it."""

import pytest
from django.db.models import Sum

from orders import corrections, flow
from orders.common.errors import Invalid, WrongState
from orders.costs.models import LedgerEntry
from orders.costs.services.measuring import (
    equipment_hours_add,
    equipment_hours_correct,
    trip_add,
    trip_correct,
)
from orders.workorders.selectors import order_visits
from tests import build
from tests.flow.world import WORK_DAY, issued, statement, world_build

pytestmark = pytest.mark.django_db
ON = WORK_DAY.date()
BECAUSE = "Read the meter again"


@pytest.fixture
def world():
    made = world_build()
    build.PriceFactory(kind="equipment", code="hand-pull", price_e4=100_000)
    build.PriceFactory(kind="equipment", code="chipper", price_e4=400_000)
    return made


@pytest.fixture
def order(world):
    return issued(world)


def closed(world, order):
    flow.start_order(order=order, stamp=world.stamp(world.lead, WORK_DAY))
    flow.close_order(order=order, statement=statement(order, minutes=300), stamp=world.stamp(world.lead, WORK_DAY))


def measured(world, order, operating=90, standby=0, code="chipper", **more):
    visit = order_visits(order).get()
    more = {"method_code": visit.shares.get().prescription.method.code, **more}
    return equipment_hours_add(
        equipment=build.EquipmentFactory(code=code),
        order=order,
        visit=visit,
        work_date=ON,
        operating_minutes=operating,
        standby_minutes=standby,
        posted_on=ON,
        stamp=world.stamp(at=WORK_DAY),
        **more,
    )


def driven(world, order, tenths=100, on=ON, **more):
    return trip_add(
        vehicle="Truck 4",
        work_date=on,
        miles_tenths=tenths,
        order=order,
        posted_on=ON,
        stamp=world.stamp(at=WORK_DAY),
        **more,
    )


def cost(category: str) -> int:
    rows = LedgerEntry.objects.filter(category=category, book="cost")
    return rows.aggregate(cents=Sum("amount_cents"))["cents"] or 0


def test_it_costs_the_machines_own_rate(world, order):
    measured(world, order)
    assert cost("equipment") == 6_000


def test_it_costs_its_methods_rate_where_it_has_none(world, order):
    measured(world, order, code="rake")
    assert cost("equipment") == 1_500


def test_it_costs_nothing_on_standby(world, order):
    measured(world, order, operating=60, standby=400)
    assert cost("equipment") == 4_000


def test_it_stands_instead_of_the_methods_hours_of_a_close_out_to_come(world, order):
    measured(world, order)
    closed(world, order)
    assert cost("equipment") == 6_000


def test_it_takes_back_what_the_close_out_had_posted(world, order):
    closed(world, order)
    assert cost("equipment") == 5_000
    measured(world, order)
    assert cost("equipment") == 6_000


def test_it_stays_when_the_close_out_is_amended(world, order):
    closed(world, order)
    measured(world, order)
    driven(world, order, visit=order_visits(order).first())
    stamp = world.stamp(world.coordinator, WORK_DAY, "Longer")
    corrections.amend_close_out(order=order, statement=statement(order, minutes=360), stamp=stamp)
    assert (cost("equipment"), cost("mileage")) == (6_000, 725)


def test_it_is_replaced_by_its_correction(world, order):
    row = measured(world, order)
    stamp = world.stamp(at=WORK_DAY, reason=BECAUSE)
    equipment_hours_correct(hours=row, operating_minutes=30, standby_minutes=0, posted_on=ON, stamp=stamp)
    assert cost("equipment") == 2_000
    with pytest.raises(WrongState):
        equipment_hours_correct(hours=row, operating_minutes=10, standby_minutes=0, posted_on=ON, stamp=stamp)


def test_it_asks_why_it_is_corrected(world, order):
    with pytest.raises(Invalid, match="why"):
        equipment_hours_correct(
            hours=measured(world, order), operating_minutes=30, standby_minutes=0, posted_on=ON, stamp=world.stamp()
        )


def test_it_refuses_more_than_a_day(world, order):
    with pytest.raises(Invalid):
        measured(world, order, operating=1_440, standby=1)


def test_it_refuses_a_visit_of_another_order(world, order):
    with pytest.raises(Invalid):
        driven(world, order, visit=build.VisitFactory())


def test_it_drives_instead_of_the_map(world, order):
    closed(world, order)
    assert cost("mileage") == 2_683
    driven(world, order, visit=order_visits(order).first())
    assert cost("mileage") == 725


def test_it_drives_beside_the_map_where_no_visit_is_named(world, order):
    closed(world, order)
    driven(world, order)
    assert cost("mileage") == 2_683 + 725


def test_it_is_corrected_to_nothing(world, order):
    trip = driven(world, order)
    trip_correct(trip=trip, miles_tenths=0, posted_on=ON, stamp=world.stamp(reason=BECAUSE))
    assert cost("mileage") == 0


def test_it_waits_in_suspense_where_there_is_no_order(world):
    driven(world, None)
    assert LedgerEntry.objects.get().fund.is_suspense
