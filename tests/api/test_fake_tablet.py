"""Whatever the line does, every order is closed once, every cost is posted once, and stock is taken once."""

from collections import Counter
from random import Random
from typing import Any

import pytest
from django.db import transaction
from django.db.models import Sum

from orders.common.models import Change
from orders.costs.models import LedgerEntry
from orders.supplies.models import StockMovement
from orders.supplies.selectors import lot_amount
from orders.workorders.models import CloseOut, MaterialUse, TimeEntry, WorkOrder
from orders.workorders.selectors import order_visits
from tests import build
from tests.api.caller import Caller
from tests.api.fake_tablet import Command, FakeTablet
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


def _sender(scene: Scene, name: str) -> Any:
    caller: Caller = scene.as_(name)
    return lambda command: caller.send(command.path, command.body, key=command.key)


def _day_of_work(tablet: FakeTablet, orders: list[WorkOrder], lot: Any) -> None:
    for order in orders:
        first, second = order_visits(order)
        used = {"visit": str(first.public_id), "lot": str(lot.public_id), "value": "0.5", "unit": "L"}
        tablet.start(order)
        tablet.not_done(order, second, "Rain from noon on.")
        tablet.close(order, statement(order, materials=[used]))


@pytest.fixture
def worked(scene, orders, lot):
    """The same day by lines of different badness; returns what the line did."""

    def work(seed: int, chance: float = 0.6) -> tuple[FakeTablet, FaultProxy]:
        line = FaultProxy(_sender(scene, "lead"), Random(seed), chance)
        tablet = FakeTablet(line, Random(seed + 1_000))
        _day_of_work(tablet, orders, lot)
        tablet.sync()
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
    assert [reply.status_code for reply in tablet.receipts.values()] == [200, 200, 201] * ORDERS
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


def test_it_keeps_the_receipt_of_the_first_time(worked):
    tablet, _ = worked(seed=3)
    closes = [reply for reply in tablet.receipts.values() if reply.status_code == 201]
    assert {reply.json()["id"] for reply in closes} == {str(found) for found in _close_out_ids()}


def _close_out_ids() -> list[Any]:
    return list(CloseOut.objects.filter(order__number__gt=10).values_list("public_id", flat=True))


def test_it_meets_every_fault(worked):
    _, line = worked(seed=5, chance=0.8)
    assert set(line.counts) >= {*FAULTS, "came late"}


def test_it_tells_the_second_of_two_leads_that_the_order_is_closed(scene, orders, lot):
    tablets = {name: FakeTablet(_sender(scene, name), Random(name)) for name in ("lead", "mate")}
    closes: dict[str, Command] = {name: tablet.close(orders[0], _said(orders[0])) for name, tablet in tablets.items()}
    for tablet in tablets.values():
        tablet.sync()
    told = [tablets[name].receipts[command.key].status_code for name, command in closes.items()]
    assert told == [201, 409]
    assert CloseOut.objects.filter(order=orders[0]).count() == 1


def _said(order: WorkOrder) -> dict[str, Any]:
    return statement(order, materials=[])
