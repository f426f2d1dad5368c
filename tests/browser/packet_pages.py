"""The packet of an order and the papers of a crew's week, in the states that look different."""

from orders.workorders.models import WorkOrder
from tests import build
from tests.browser import record_pages


def _order() -> WorkOrder:
    record_pages.order_print()
    WorkOrder.objects.update(state="issued")
    order = WorkOrder.objects.get()
    build.ChecklistAnswerFactory(site=order.site, answer="Owner told, September 2026")
    return order


def packet(language: str = "en") -> str:
    return f"/orders/{_order().public_id}/packet/?lang={language}"


def bundle(week: str = "2027-02-10") -> str:
    return f"/packets/?crew={_order().crew.public_id}&week={week}"


STATES = {
    "packet": packet,
    "packet-spanish": lambda: packet("es"),
    "bundle": bundle,
    "bundle-empty": lambda: bundle("2027-05-05"),
    "bundle-unasked": lambda: "/packets/",
}
