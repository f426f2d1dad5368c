"""What crews photographed of a patch: on orders that worked it, by the prescription or the order as a whole."""

from datetime import date

from django.db.models import Q

from orders.common.models import User
from orders.planning.models import Prescription
from orders.sites.models import Patch
from orders.workorders.field_facts import photos_of
from orders.workorders.models import Photo

MOST_SHOWN = 24


def crew_photos(actor: User, patch: Patch, *, on: date) -> list[Photo]:
    """The newest whole ones that the actor may see. One of an order that names no patch shows it among others."""
    asked = Prescription.objects.filter(patch=patch)
    orders = asked.filter(visit_shares__visit__order_visit__isnull=False)
    of_order = Q(order__in=orders.values("visit_shares__visit__order_visit__order")) & ~Q(about="prescription")
    named = Q(about="prescription", about_id__in=asked.values("public_id"))
    rows = photos_of(actor, on=on).filter(named | of_order, state="whole").distinct()
    return list(rows.order_by("-taken_at", "-id")[:MOST_SHOWN])
