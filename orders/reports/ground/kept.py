"""What the map reads, kept until something is written."""

from collections.abc import Callable
from datetime import date

from orders.common.kept import changes_version, kept
from orders.planning.models import Season
from orders.planning.patch_finder import RECOMMENDED_BY
from orders.reports.ground.rows import GroundRow, ground_rows


def ground_rows_kept(season: Season | None, on: date) -> list[GroundRow]:
    """`ground_rows`, read once a change. Of the day only the year counts, and that without a season."""
    return kept(f"ground/rows/{_span(season, on)}", changes_version(), lambda: ground_rows(season, on))


def recommended_kept(season: Season | None, on: date, make: Callable[[], dict[int, str]]) -> dict[int, str]:
    """Which method is recommended on each patch, made once a change of what it rests on."""
    return kept(f"ground/recommended/{_span(season, on)}", changes_version(*RECOMMENDED_BY), make)


def _span(season: Season | None, on: date) -> str:
    return f"season-{season.pk}" if season else f"year-{on.year}"
