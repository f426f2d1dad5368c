"""Reads of flags: the desk sees all, the pesticide supervisor those of that role, a lead those of own crews."""

from datetime import date, datetime
from uuid import UUID

from django.db.models import Q, QuerySet, TextField
from django.db.models.functions import Cast

from orders.common.errors import NotFound
from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, CREW_LEAD
from orders.crews.selectors import memberships_of
from orders.field.models import Flag


def flags_of(actor: User, *, on: date) -> QuerySet[Flag]:
    """The one scope of flags."""
    rows = Flag.objects.select_related("order", "site", "crew", "person", "command__device", "settled_by")
    rows = rows.order_by("-raised_at", "-id")
    if actor.has_role(COORDINATOR, ADMINISTRATOR):
        return rows
    seen = Q(person__user=actor)
    for role in actor.role_codes:
        seen |= Q(roles_text__contains=f'"{role}"')
    if actor.has_role(CREW_LEAD):
        seen |= Q(crew__in=[member.crew_id for member in memberships_of(actor, on)]) | Q(command__user=actor)
    return rows.annotate(roles_text=Cast("for_roles", TextField())).filter(seen)


def flag_get(actor: User, flag_id: UUID, *, on: date) -> Flag:
    found = flags_of(actor, on=on).filter(public_id=flag_id).first()
    if found is None:
        raise NotFound("There is no such flag.")
    return found


def flags_waiting(*, since: datetime) -> QuerySet[Flag]:
    """Open ones of held commands that name what has not come; `data.waits_for` has its ids."""
    rows = Flag.objects.filter(kind="held", state="open", raised_at__gte=since, data__has_key="waits_for")
    return rows.order_by("id")
