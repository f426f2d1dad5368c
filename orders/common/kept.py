"""What many readers ask for is kept until something is written: pages are turned, sorted and filtered more often than
rows change.

Kept under the newest record of the feed of changes, which every write adds to. Before the first write nothing is kept.
What another release of the program kept is not read: its rows may have another shape.
"""

import hashlib
from collections.abc import Callable
from functools import cache as once
from pathlib import Path
from typing import TypeVar

from django.core.cache import cache

from orders.common.models import Change

KEPT_SECONDS = 24 * 3600
ROOT = Path(__file__).resolve().parents[2]

Kept = TypeVar("Kept")


def changes_version(*entities: str) -> str:
    """The newest record of the feed, or the newest of some kinds; empty: there is none."""
    rows = Change.objects.filter(entity__in=entities) if entities else Change.objects.all()
    newest = rows.order_by("-id").values_list("public_id", flat=True).first()
    return "" if newest is None else str(newest)


def kept(name: str, version: str, make: Callable[[], Kept]) -> Kept:
    """What `make` makes, once a version."""
    if not version:
        return make()
    key = f"kept/{_release()}/{name}/{version}"
    found: Kept | None = cache.get(key)
    if found is None:
        found = make()
        cache.set(key, found, KEPT_SECONDS)
    return found


@once
def _release() -> str:
    """A mark of the program's own files as they are here."""
    files = sorted(path for room in ("orders", "estimating") for path in (ROOT / room).rglob("*.py"))
    told = [(str(path.relative_to(ROOT)), path.stat().st_size, path.stat().st_mtime_ns) for path in files]
    return hashlib.sha256(repr(told).encode()).hexdigest()[:16]
