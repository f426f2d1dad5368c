"""What the map reads is kept until something is written: a reader pans, filters and sorts more often than rows change.

Kept under the newest record of the feed of changes, which every write adds to. Before the first write nothing is kept.
"""

from collections.abc import Callable
from datetime import date
from typing import TypeVar

from django.core.cache import cache

from orders.common.models import Change
from orders.planning.models import Season
from orders.reports.ground.rows import GroundRow, ground_rows

KEPT_SECONDS = 24 * 3600
# What a recommendation rests on; orders and money may change as they like.
RECOMMENDED_BY = (
    "site",
    "patch",
    "patchsuccession",
    "survey",
    "surveyimport",
    "species",
    "growthform",
    "method",
    "closeout",
)

Kept = TypeVar("Kept")


def ground_version(*entities: str) -> str:
    """The newest record of the feed, or the newest of some kinds; empty: there is none."""
    rows = Change.objects.filter(entity__in=entities) if entities else Change.objects.all()
    newest = rows.order_by("-id").values_list("public_id", flat=True).first()
    return "" if newest is None else str(newest)


def ground_rows_kept(season: Season | None, on: date) -> list[GroundRow]:
    """`ground_rows`, read once a change. Of the day only the year counts, and that without a season."""
    return kept(f"rows/{_span(season, on)}", ground_version(), lambda: ground_rows(season, on))


def recommended_kept(season: Season | None, on: date, make: Callable[[], dict[int, str]]) -> dict[int, str]:
    """Which method is recommended on each patch, made once a change of what it rests on."""
    return kept(f"recommended/{_span(season, on)}", ground_version(*RECOMMENDED_BY), make)


def kept(name: str, version: str, make: Callable[[], Kept]) -> Kept:
    if not version:
        return make()
    key = f"ground/{name}/{version}"
    found: Kept | None = cache.get(key)
    if found is None:
        found = make()
        cache.set(key, found, KEPT_SECONDS)
    return found


def _span(season: Season | None, on: date) -> str:
    return f"season-{season.pk}" if season else f"year-{on.year}"
