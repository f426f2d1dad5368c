"""Which patch came of which: splits and merges, and the surveys that go before a patch's own."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet

from orders.common.errors import NotFound
from orders.sites.models import Patch, PatchSuccession, Survey
from orders.sites.selectors import surveys

# Patches that were split and merged again and again: as far back as any season needs (our own figure).
MOST_STEPS_BACK = 12


@dataclass(frozen=True)
class Lineage:
    """The rows that lead to a patch and those that lead on from it, taken-back ones left out."""

    came_of: tuple[PatchSuccession, ...]
    became: tuple[PatchSuccession, ...]


def successions() -> QuerySet[PatchSuccession]:
    rows = PatchSuccession.objects.select_related("before__site", "after__site", "by")
    return rows.defer("before__site__boundary", "after__site__boundary").order_by("at", "id")


def succession_of(event: UUID) -> list[PatchSuccession]:
    rows = list(PatchSuccession.objects.select_related("before__site", "after__site").filter(event=event))
    if not rows:
        raise NotFound("There is no such split or merge.")
    return rows


def lineage(patch: Patch) -> Lineage:
    rows = list(successions().filter(undone_at=None, before=patch) | successions().filter(undone_at=None, after=patch))
    return Lineage(
        tuple(row for row in rows if row.after_id == patch.pk), tuple(row for row in rows if row.before_id == patch.pk)
    )


def ancestry(patch: Patch) -> list[PatchSuccession]:
    """All splits and merges that led to a patch, the oldest first; one query a step back."""
    found: dict[int, PatchSuccession] = {}
    level = {patch.pk}
    for _ in range(MOST_STEPS_BACK):
        rows = list(successions().filter(undone_at=None, after__in=level).exclude(pk__in=found))
        if not rows:
            break
        found |= {row.pk: row for row in rows}
        level = {row.before_id for row in rows}
    return sorted(found.values(), key=lambda row: (row.at, row.pk))


def surveys_of(patches: Iterable[int]) -> QuerySet[Survey]:
    """The standing surveys of patches by their keys, the oldest first, without shapes."""
    rows = surveys().filter(patch__in=list(patches), voided_at__isnull=True)
    return rows.defer("geometry", "patch__site__boundary").order_by("observed_on", "id")


def made_by(row: PatchSuccession, after: Sequence[Patch]) -> list[Survey]:
    """The surveys that came with a split or merge itself."""
    rows = Survey.objects.filter(patch__in=list(after), recorded_at=row.at, voided_at__isnull=True)
    return list(rows.select_related("patch__site").order_by("id"))
