"""Taking back whatever still stands of a source."""

from collections.abc import Iterable
from datetime import date
from uuid import UUID

from orders.common.stamp import Stamp
from orders.costs.models import LedgerEntry
from orders.costs.services.entries import entries_reverse


def source_reverse(kind: str, source_ids: Iterable[UUID], *, posted_on: date, stamp: Stamp) -> list[LedgerEntry]:
    """One opposite row for each row that stands."""
    rows = LedgerEntry.objects.filter(source_kind=kind, source_id__in=list(source_ids), reverses__isnull=True)
    return entries_reverse(rows.filter(reversed_by__isnull=True).order_by("id"), posted_on=posted_on, stamp=stamp)
