"""Whatever the line does, every order is closed once, every cost is posted once, and stock is taken once."""

from collections import Counter
from random import Random
from typing import Any

import pytest
from django.db import transaction
from django.db.models import Sum

from orders.common.models import Change
from orders.costs.models import LedgerEntry
from orders.field.models import Command, Flag
from orders.supplies.models import StockMovement
from orders.supplies.selectors import lot_amount
from orders.workorders.models import CloseOut, MaterialUse, TimeEntry, WorkOrder
from orders.workorders.selectors import order_visits
from tests import build
from tests.api.caller import tablet_line
from tests.api.fake_tablet import FakeTablet
from tests.api.fault_proxy import FAULTS, FaultProxy
from tests.api.scene import Scene, statement

pytestmark = pytest.mark.django_db
SEEDS = range(8)
ORDERS = 3


@pytest.fixture
def lot():
    return build.StockLotFactory(received_ul=10_000_000)


@pytest.fixture
def orders(scene):
    return [_issued(scene, number) for number in range(11, 11 + ORDERS)]


def _issued(scene: Scene, number: int) -> WorkOrder:
    """An order of two visits."""
    where = {"season": scene.world.season, "site": scene.world.patch.site, "crew": scene.world.crew}
    book = scene.prescription.estimate.rate_book
    asked = build.PrescriptionFactory(season=where["season"], estimate__rate_book=book, state="ordered")
    visits = [build.VisitFactory(**where, state="ordered", day=f"2027-02-0{day}") for day in (1, 2)]
    for visit in visits:
        build.VisitShareFactory(visit=visit, prescription=asked, share=0.5)
    order: WorkOrder = build.WorkOrderFactory(**where, number=number, state="issued", visits=visits)
    build.OrderFundingFactory(order=order, fund=scene.world.fund)
    return order


def _day_of_work(tablet: FakeTablet, orders: list[WorkOrder], lot: Any) -> None:
    for order in orders:
        first, second = order_visits(order)
        used = {"visit": str(first.public_id), "lot": str(lot.public_id), "value": "0.5", "unit": "L"}
        tablet.write("start-order", {}, order.public_id)
        tablet.write("visit-not-done", {"visit": str(second.public_id), "reason": "Rain from noon."}, order.public_id)
        tablet.close(order.public_id, statement(order, materials=[used]))


@pytest.fixture
def worked(scene, orders, lot):
    """The same day by lines of different badness; returns what the line did."""

    def work(seed: int, chance: float = 0.6) -> tuple[FakeTablet, FaultProxy]:
        line = FaultProxy(tablet_line(scene.users["lead"]), Random(seed), chance)
        tablet = FakeTablet(line, scene.users["lead"].public_id, Random(seed + 1_000))
        _day_of_work(tablet, orders, lot)
        while tablet.outbox:
            tablet.send(tablet.outbox[:4])
        line.release_all()
        return tablet, line

    return work


def _books() -> dict[Any, Any]:
    """Cents and quantities by order and category: what the ledger adds up to."""
    rows = LedgerEntry.objects.values("order_number", "category").order_by("order_number", "category")
    summed = rows.annotate(cents=Sum("amount_cents"), quantity=Sum("quantity"))
    return {(row["order_number"], row["category"]): (row["cents"], row["quantity"]) for row in summed}


@pytest.mark.parametrize("seed", SEEDS)
def test_it_closes_every_order_once(worked, orders, seed):
    tablet, _ = worked(seed)
    assert {answer["state"] for answer in tablet.answers.values()} == {"applied"}
    assert len(tablet.answers) == Command.objects.count() == 3 * ORDERS
    assert {order.state for order in WorkOrder.objects.filter(number__gt=10)} == {"closed"}
    assert Counter(CloseOut.objects.values_list("order", flat=True)) == {order.pk: 1 for order in orders}


@pytest.mark.parametrize("seed", SEEDS)
def test_it_posts_and_takes_everything_once(worked, lot, seed):
    worked(seed)
    labor = {key: quantity for key, (_, quantity) in _books().items() if key[1] == "labor"}
    assert labor == {(number, "labor"): 900 for number in range(11, 11 + ORDERS)}
    assert TimeEntry.objects.count() == 3 * ORDERS
    assert StockMovement.objects.filter(kind="use").count() == MaterialUse.objects.count() == ORDERS
    assert lot_amount(lot) == 10_000_000 - ORDERS * 500_000


@pytest.mark.parametrize("seed", SEEDS)
def test_it_records_each_step_once(worked, seed):
    worked(seed)
    steps = Change.objects.filter(entity="workorder", verb__in=["order_start", "order_close"])
    assert list(Counter(steps.values_list("verb", "entity_id")).values()) == [1] * 2 * ORDERS


@pytest.mark.parametrize("seed", SEEDS)
def test_it_ends_as_with_a_good_line(worked, seed):
    with transaction.atomic():
        worked(seed=0, chance=0.0)
        good = _books()
        transaction.set_rollback(True)
    worked(seed)
    assert _books() == good
    assert {kind for _, kind in good} == {"labor", "material", "mileage"}


def test_it_meets_every_fault(worked):
    _, line = worked(seed=5, chance=0.8)
    assert set(line.counts) >= {*FAULTS, "came late"}


def test_it_holds_the_close_out_of_the_second_of_two_leads(scene, orders):
    tablets = {
        name: FakeTablet(tablet_line(scene.users[name]), scene.users[name].public_id, Random(name))
        for name in ("lead", "mate")
    }
    order = orders[0]
    closes = {name: tablet.close(order.public_id, statement(order)) for name, tablet in tablets.items()}
    for tablet in tablets.values():
        tablet.sync()
    told = [tablets[name].answers[command]["state"] for name, command in closes.items()]
    assert told == ["applied", "held"]
    assert CloseOut.objects.filter(order=order).count() == 1
    held = Flag.objects.get(kind="held")
    assert (held.order, str(held.command and held.command.public_id)) == (order, closes["mate"])
