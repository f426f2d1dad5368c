"""What a crew must know of its order: the same while nothing of it changes, and another hash as soon as it does."""

from datetime import date

import pytest

from orders.workorders.editions import edition_sha256, order_edition_facts
from orders.workorders.models import WorkOrder
from tests import build
from tests.workorders.orders import spray_order

pytestmark = pytest.mark.django_db


def _hash(order):
    return edition_sha256(order_edition_facts(WorkOrder.objects.get(pk=order.pk)))


@pytest.fixture
def order():
    return spray_order()


def test_it_holds_days_crew_work_and_labels(order):
    facts = order_edition_facts(order)
    assert (facts["crew"], facts["site"]) == (order.crew.name, order.site.code)
    (visit,) = facts["visits"]
    assert (visit["day"], visit["work"][0]["method"]) == ("2027-02-10", "Spot foliar")
    assert [product["code"] for product in facts["label"]["products"]] == ["herb"]
    assert "at" not in facts["label"]


def test_it_stays_the_same_when_a_crew_need_know_nothing_new(order):
    before = _hash(order)
    WorkOrder.objects.update(version=9, issued_at=build.NOW, state="issued")
    build.OrderFundingFactory(order=order)
    assert _hash(order) == before


@pytest.mark.parametrize(
    "change",
    [
        lambda order: order.order_visits.get().visit.__class__.objects.update(day=date(2027, 2, 11)),
        lambda order: WorkOrder.objects.update(instructions="Park at the barn."),
        lambda order: WorkOrder.objects.update(crew=build.CrewFactory()),
        lambda order: WorkOrder.objects.update(state="void", void_reason="Rain."),
        lambda order: order.order_visits.get().visit.shares.update(share=0.5),
        lambda order: build.ProductFactory._meta.model.objects.update(cautions="Keep off for a day."),
        lambda order: build.LimitOverrideFactory(order=order),
    ],
    ids=["day", "instructions", "crew", "void", "share", "caution", "override"],
)
def test_it_differs_when_a_crew_must_know(order, change):
    before = _hash(order)
    change(order)
    assert _hash(order) != before
