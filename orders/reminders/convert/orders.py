"""Orders whose last day of work passes while they are open."""

from collections.abc import Collection, Iterator, Sequence
from datetime import date, datetime

from django.db.models import Max, Q

from orders.common.stamp import Stamp
from orders.planning.models import Visit
from orders.reminders.convert.facts import ids_of, local_day
from orders.reminders.models import Deadline
from orders.reminders.owed import Key, Owed
from orders.reminders.seeding import day_text
from orders.workorders.models import CloseOut, WorkOrder

STANDING = ("issued", "underway")


def orders_to_close(rows: Sequence[Deadline], stamp: Stamp) -> Iterator[Owed]:
    """One for each issued order, due on the last day of the visits that stand."""
    wanted = Q(state__in=STANDING) | Q(pk__in=ids_of(rows, "order"), state="closed")
    found = list(WorkOrder.objects.filter(wanted).select_related("site", "crew").defer("site__boundary").order_by("id"))
    last_days = _last_days({order.pk for order in found})
    closed = closed_at({order.pk for order in found if order.state == "closed"})
    for order in found:
        yield _owed(order, last_days.get(order.pk, order.last_day), closed.get(order.pk))


def _owed(order: WorkOrder, last_day: date, closed: datetime | None) -> Owed:
    zone = order.site.time_zone
    return Owed(
        key=Key("close", str(order.public_id), last_day.isoformat()),
        title=f"Work order {order.number}, {order.site.name}, {order.crew.name}"[:300],
        due_on=last_day,
        because=f"Its last visit stands on {day_text(last_day)}.",
        refs={"site_id": order.site_id, "order_id": order.pk},
        time_zone=zone,
        known_at=order.issued_at,
        done_on=local_day(closed, zone) if closed else None,
    )


def _last_days(order_ids: Collection[int]) -> dict[int, date]:
    standing = Visit.objects.filter(order_visit__order__in=order_ids).exclude(state__in=("dropped", "not_done"))
    return dict(standing.order_by().values_list("order_visit__order").annotate(Max("day")))


def closed_at(order_ids: Collection[int]) -> dict[int, datetime]:
    """When the first statement of each order came in."""
    first = CloseOut.objects.filter(order__in=order_ids, revision=1).order_by()
    return dict(first.values_list("order_id", "received_at"))
