"""The office and its orders: words for a crew on an order that was issued, so that its printed edition is out of date,
and what keeps drafts back."""

from orders.desk.demo.scene import Walk
from orders.issuing import issue_obstacles
from orders.workorders.models import WorkOrder
from orders.workorders.services import order_instruct

WORDS = "The lower gate is locked until the culvert is mended: park at the barn and walk in by the ridge path."


def dispatch(steps: Walk, issued: WorkOrder) -> None:
    """Invented. The order is the caller's own row, which goes on with it."""
    order_instruct(order=issued, instructions=WORDS, stamp=steps.stamp("coordinator"))
    steps.tell(f"Desk       {issued} has new instructions since it was issued; its crew's tablet is told")
    drafts = WorkOrder.objects.filter(state="draft").select_related("site__jurisdiction", "crew").order_by("number")
    kept = [order for order in drafts if issue_obstacles(order=order, stamp=steps.stamp("coordinator"))]
    steps.tell(f"           {len(kept)} of {len(drafts)} drafts are kept back; each order's page says by what")
