"""What a cost of a whole order was for."""

from fractions import Fraction

from orders.costs.services.entries import Served
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_shares

LEAST = Fraction(1, 1000)


def order_served(order: WorkOrder | None) -> Served:
    """All that the order's visits serve, by their planned hours; nothing where there is no order."""
    shares = order_shares(order) if order else []
    return [(share.prescription, max(Fraction(share.planned_hours), LEAST)) for share in shares]
