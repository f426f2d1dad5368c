"""Patches that a person has marked on the map: kept in the session until they are cleared, through paging and filters.

A browser with scripts sends all of them; one without sends those of the rows that it was shown.
"""

from collections.abc import Iterable

from django.http import HttpRequest

from orders.common.errors import FieldError, Invalid
from orders.planning.preview import MOST_PATCHES
from orders.sites.models import Patch

MARKED = "map-marked"
EDITED = "map-edited"
MOST_MARKED = 20_000
AT_ONCE = 500


def marked(request: HttpRequest) -> set[int]:
    return set(request.session.get(MARKED, []))


def marks_keep(request: HttpRequest, keys: Iterable[int]) -> None:
    kept = sorted(set(keys))
    if len(kept) > MOST_MARKED:
        raise Invalid("Too many patches are marked.", [FieldError("marks", f"at most {MOST_MARKED:,}")])
    request.session[MARKED] = kept


def marks_sent(request: HttpRequest) -> set[int]:
    """All marks as the page has them now."""
    said = request.POST
    if said.get("scripts") == "yes":
        return numbers_read(said.get("marks", ""))
    listed, checked = numbers_read(said.get("listed", "")), numbers_read(" ".join(said.getlist("patch")))
    return (marked(request) - listed) | checked


def numbers_read(text: str) -> set[int]:
    """Whole numbers with spaces between them."""
    try:
        return {int(part) for part in text.split()}
    except ValueError as error:
        raise Invalid("A marked patch cannot be read.", [FieldError("marks", "is no number")]) from error


def marked_patches(keys: set[int]) -> list[Patch]:
    """By site and code; one that ended meanwhile is left out. Refused where there is none, or too many for one act."""
    found: list[Patch] = []
    if len(keys) > MOST_PATCHES:
        said = f"{len(keys):,} are marked, and at most {MOST_PATCHES:,} can be worked on at once. Narrow the map first."
        raise Invalid("Too many patches are marked.", [FieldError("patch", said)])
    ordered = sorted(keys)
    for at in range(0, len(ordered), AT_ONCE):
        rows = Patch.objects.filter(pk__in=ordered[at : at + AT_ONCE], ended_on__isnull=True)
        found += rows.select_related("site").defer("site__boundary")
    if not found:
        raise Invalid("No patch is marked.", [FieldError("patch", "mark one at least")])
    return sorted(found, key=lambda patch: (patch.site.code, patch.code))
