"""Reads of what is common to all stages: the feed of changes."""

from collections.abc import Collection
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from orders.common.models import Change, ChangeAudience, User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, FINANCE, PESTICIDE_SUPERVISOR

SEE_ALL_CHANGES = (COORDINATOR, FINANCE, PESTICIDE_SUPERVISOR, ADMINISTRATOR)


def changes_of(actor: User, own_crews: Collection[UUID], *, after: int) -> QuerySet[Change]:
    """The feed after a place, in its order. A crew lead sees what concerns own crews.

    `left` is the tombstone: what the row speaks of has gone from all of these crews, and its content is no more theirs.
    """
    rows = Change.objects.filter(pk__gt=after).select_related("actor").order_by("id")
    if actor.has_role(*SEE_ALL_CHANGES):
        return rows
    told = ChangeAudience.objects.filter(change=OuterRef("pk"), crew_id__in=list(own_crews))
    return rows.filter(Exists(told)).annotate(left=~Exists(told.filter(gone=False)))
