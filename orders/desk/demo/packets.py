"""Paper in the demo: the first crew's week as one bundle, each order in its first edition."""

from orders.desk.demo.scene import Walk
from orders.desk.packets.paper_bundle import week_of
from orders.desk.packets.printing import bundle_pdf
from orders.workorders.models import OrderEdition, WorkOrder


def packets(steps: Walk) -> None:
    """Nothing where no order was issued."""
    first = WorkOrder.objects.filter(state="issued").order_by("first_day", "number").first()
    if first is None:
        return
    days = week_of(first.first_day)
    rows = WorkOrder.objects.filter(state="issued", crew=first.crew, first_day__range=days)
    orders = list(rows.select_related("site__jurisdiction", "crew", "season").order_by("first_day", "number"))
    made = bundle_pdf(orders, days, "en", crew=first.crew, stamp=steps.stamp("coordinator"), as_edition=True)
    count = OrderEdition.objects.count()
    steps.tell(f"Packets    the week of {first.crew} printed: {count} orders in {len(made) // 1024} kB of PDF")
