"""Reads of what is common to all stages: the feed of changes."""

from collections.abc import Collection
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from orders.common.errors import NotFound
from orders.common.models import Change, ChangeAudience, PublicIdModel, Role, User
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


def changes_of_row(row: PublicIdModel, most: int = 20) -> QuerySet[Change]:
    """The newest changes of one row; for pages that are open only to who may read all of it."""
    kept = Change.objects.filter(entity=row._meta.model_name, entity_id=row.public_id)
    return kept.select_related("actor").order_by("-id")[:most]


def user_by_name(username: str) -> User:
    found = User.objects.filter(username=username).first()
    if found is None:
        raise NotFound(f"There is no login {username}.")
    return found


def users_all() -> QuerySet[User]:
    return User.objects.prefetch_related("roles").order_by("username")


def user_get(user_id: UUID) -> User:
    found = users_all().filter(public_id=user_id).first()
    if found is None:
        raise NotFound("There is no such login.")
    return found


MUST_CHOOSE = "password_given"  # in the session of whoever logged in with a password that somebody else set


def password_is_given(user: User) -> bool:
    """Whether the password was set by somebody else and not replaced since."""
    verbs = ("user_password_give", "user_password_change")
    last = Change.objects.filter(entity="user", entity_id=user.public_id, verb__in=verbs).order_by("-id").first()
    return last is not None and last.verb == verbs[0]


def roles_all() -> QuerySet[Role]:
    return Role.objects.order_by("name")


def has_users() -> bool:
    return User.objects.exists()
