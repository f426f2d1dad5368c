"""What the labels said is put on the order at issue, and stays as it was."""

import pytest

from orders.supplies.models import Product
from orders.workorders.label_cards import label_card, label_shown
from orders.workorders.models import WorkOrder
from orders.workorders.services import order_issue
from tests import build
from tests.workorders.orders import SPRAY, herbicide, spray_order

pytestmark = pytest.mark.django_db


@pytest.fixture
def order(db):
    product = herbicide(
        uses=[{"method": SPRAY, "max_percent_vv": 5.0}, "basal-bark"],
        weather=[{}, {"measure": "temperature_c", "low": 4.4, "high": None, "kind": "label-mandatory"}],
        signal_word="WARNING",
        rain_free_hours=6,
        restricted_entry_hours=12,
        protective_equipment="Gloves",
        cautions="Shield what must live.",
    )
    return spray_order(product=product)


def test_it_carries_limits_equipment_entry_and_cautions(order):
    card = label_card(order)
    (product,) = card["products"]
    assert card["notice"].startswith("The label is the law.")
    assert (card["rain_free_hours"], card["restricted_entry_hours"]) == (6, 12)
    assert (product["signal_word"], product["protective_equipment"]) == ("WARNING", "Gloves")
    assert product["entry_rule"] == "Keep out until dry"
    assert [(limit["measure"], limit["low"], limit["high"]) for limit in product["weather"]] == [
        ("temperature_c", 4.4, None),
        ("wind_m_s", None, 4.47),
    ]


def test_it_names_the_uses_of_the_order_alone(order):
    (product,) = label_card(order)["products"]
    assert product["methods"] == [SPRAY]
    assert product["uses"] == [{"method": SPRAY, "max_percent_vv": 5.0, "max_l_per_ha": None}]


def test_it_keeps_at_issue_what_the_label_said_then(order, stamp):
    assert label_shown(order)["at"] is None
    order_issue(order=order, stamp=stamp)
    Product.objects.update(label_version="2027-09", rain_free_hours=24)
    kept = label_shown(WorkOrder.objects.get(pk=order.pk))
    assert (kept["at"], kept["rain_free_hours"]) == (stamp.at.isoformat(), 6)
    assert kept["products"][0]["label_version"] == "2026-01"


def test_it_takes_the_longest_time_of_all_products(order):
    slow = build.ProductFactory(code="slow", uses=[SPRAY], restricted_entry_hours=48, rain_free_hours=None)
    estimate = order.order_visits.get().visit.shares.get().prescription.estimate
    both = build.EstimateFactory(
        survey=estimate.survey, method=estimate.method, products_ul={"herb": 1_000, slow.code: 1_000}
    )
    asked = build.PrescriptionFactory(patch=estimate.survey.patch, estimate=both, state="ordered")
    visit = build.VisitFactory(crew=order.crew, site=order.site, state="ordered", prescriptions=[asked])
    card = label_card(build.WorkOrderFactory(crew=order.crew, site=order.site, visits=[visit]))
    assert (card["restricted_entry_hours"], card["rain_free_hours"]) == (48, 6)


def test_it_says_nothing_where_nothing_is_applied():
    order = build.WorkOrderFactory(visits=[build.VisitFactory(prescriptions=[build.PrescriptionFactory()])])
    assert label_card(order)["products"] == []
