"""Patches that a person has marked on the map or in a list, kept in the session for the page that does something with
them: hundreds of ids do not fit into an address."""

from collections.abc import Iterable, Sequence
from uuid import UUID, uuid4

from django.http import HttpRequest

from orders.common.errors import FieldError, Invalid
from orders.planning.preview import MOST_PATCHES
from orders.planning.selectors import patches_keyed, patches_named
from orders.sites.models import Patch

KEPT = "selections"
MOST_KEPT = 5


def selection_keep(request: HttpRequest, patches: Sequence[Patch]) -> str:
    """A key for an address, good in this session; of many selections the newest stay."""
    key = uuid4().hex[:12]
    kept = {**request.session.get(KEPT, {}), key: [patch.pk for patch in patches]}
    request.session[KEPT] = dict(list(kept.items())[-MOST_KEPT:])
    return key


def selection_named(request: HttpRequest, ids: Iterable[str]) -> str:
    """The same from public ids as a form sends them."""
    marked = list(ids)
    if not marked:
        raise Invalid("No patch is marked.", [FieldError("patch", "mark one at least")])
    if len(marked) > MOST_PATCHES:
        raise Invalid("Too many patches are marked.", [FieldError("patch", f"at most {MOST_PATCHES:,} at once")])
    try:
        return selection_keep(request, patches_named([UUID(text) for text in marked]))
    except ValueError as error:
        raise Invalid("A marked patch cannot be read.", [FieldError("patch", "is no id")]) from error


def selection_of(request: HttpRequest, key: str) -> list[Patch]:
    """By site and code; a patch that ended meanwhile is left out."""
    kept = request.session.get(KEPT, {}).get(key)
    if kept is None:
        detail = "What was marked is not kept any longer. Mark the patches again."
        raise Invalid(detail, [FieldError("selection", "is not known in this session")])
    return list(patches_keyed(kept).filter(ended_on__isnull=True))
