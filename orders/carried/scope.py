"""Whose work is on a tablet: its people, the crews that they are on, and the orders of those crews."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Q, QuerySet

from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, CREW_LEAD, PESTICIDE_SUPERVISOR
from orders.crews.models import Crew, CrewMembership
from orders.field.models import Device
from orders.workorders.models import WorkOrder

MOST_OPEN_ORDERS = 80  # the earliest: more than a crew closes between two signals
CLOSED_DAYS_BACK = 7
MAY_LEAD = (CREW_LEAD, COORDINATOR, PESTICIDE_SUPERVISOR, ADMINISTRATOR)


@dataclass(frozen=True)
class Scope:
    """`today` is the program's day; `memberships` those of the tablet's people on it."""

    today: date
    users: tuple[User, ...]
    memberships: tuple[CrewMembership, ...]

    @classmethod
    def of(cls, device: Device, today: date) -> "Scope":
        users = users_on(device)
        leading = [user for user in users if any(role.code in MAY_LEAD for role in user.roles.all())]
        members = on_days(CrewMembership.objects.filter(person__user__in=leading), today, today)
        return cls(today, users, tuple(members.select_related("person", "crew").order_by("crew__name", "id")))

    @property
    def crews(self) -> list[Crew]:
        return list({row.crew_id: row.crew for row in self.memberships}.values())

    def people(self) -> list[dict[str, Any]]:
        return [self._person(user) for user in self.users]

    def _person(self, user: User) -> dict[str, Any]:
        own = [row for row in self.memberships if row.person.user_id == user.pk]
        person = getattr(user, "person", None)
        return {
            "user": str(user.public_id),
            "person": str(person.public_id) if person else None,
            "name": str(person or user.get_full_name() or user.username),
            "crews": [str(row.crew.public_id) for row in own],
            "language": "",
        }


def users_on(device: Device) -> tuple[User, ...]:
    rows = User.objects.filter(device_users__device=device, device_users__removed_at__isnull=True, is_active=True)
    return tuple(rows.select_related("person").prefetch_related("roles").distinct().order_by("username"))


def on_days(rows: QuerySet[CrewMembership], first: date, last: date) -> QuerySet[CrewMembership]:
    there = Q(last_day__isnull=True) | Q(last_day__gte=first)
    return rows.filter(there, first_day__lte=last, person__is_active=True)


def orders_carried(scope: Scope, crews: Sequence[Crew]) -> list[WorkOrder]:
    """Open orders, however old they are: they must be closed. Closed ones for a week, to be amended."""
    is_open = Q(state__in=["issued", "underway"])
    week = (scope.today - timedelta(days=CLOSED_DAYS_BACK), scope.today + timedelta(days=1))  # the zones' last hours
    is_fresh = Q(state="closed", closed_at__date__range=week)
    rows = WorkOrder.objects.filter(crew__in=crews).select_related("site__jurisdiction", "crew", "season")
    rows = rows.order_by("first_day", "number")
    found = [*rows.filter(is_open)[:MOST_OPEN_ORDERS], *rows.filter(is_fresh)]
    return sorted(found, key=lambda order: (order.first_day, order.number))
