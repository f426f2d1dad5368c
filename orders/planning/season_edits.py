"""Changing a season: its name and money at any time, its days while nothing is planned in it."""

from datetime import date
from typing import Any

from orders.common.rows import Findings, row_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.planning.models import Prescription, Season, Visit
from orders.planning.worth import BUDGET_LEVELS

NOT_CHANGED = "The season was not changed."


@writing()
def season_edit(*, season: Season, values: dict[str, Any], expected: int, stamp: Stamp) -> Season:
    """Change name, first_day, last_day, budget_cents or level (by its name)."""
    named = dict(values)
    if "level" in named:
        named["budget_level"] = BUDGET_LEVELS[named.pop("level")]
    found = Findings()
    first, last = named.get("first_day", season.first_day), named.get("last_day", season.last_day)
    found.need(last > first, "last_day", "must be after the first day")
    if (first, last) != (season.first_day, season.last_day):
        _days_check(found, season, first, last)
    found.refuse(NOT_CHANGED)
    return row_edit(season, stamp=stamp, verb="season_edit", expected=expected, values=named)


def _days_check(found: Findings, season: Season, first: date, last: date) -> None:
    """Days that visits and windows rest on stay as they are."""
    planned = Visit.objects.filter(season=season).exclude(state__in=["proposed", "dropped"]).count()
    found.need(not planned, "first_day", f"stay as they are: {planned} visits are planned in the season already")
    standing = Prescription.objects.filter(season=season).exclude(state="dropped")
    outside = standing.exclude(first_day__gte=first, last_day__lte=last).count()
    found.need(not outside, "first_day", f"leave out days that {outside} prescriptions have as their window")
