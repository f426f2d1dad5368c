"""Chains as the planner reads them: which prescription comes after which, and how many days."""

from collections.abc import Iterable, Sequence

from orders.planning.chain_ends import parts_of
from orders.planning.models import Prescription

ANY_DAYS = 3_650  # where a follow-up holds no greatest lag


def chain_links(
    asked: Sequence[Prescription], standing: Iterable[Prescription] = ()
) -> list[tuple[Prescription, Prescription, int, int]]:
    """(first, second, least days, most days) for each follow-up whose first is asked for too, remainders of both
    counted as parts. `standing`: firsts that are not asked for any more, but were worked in the season."""
    seconds_by_key = {row.pk: row for row in asked}
    firsts_by_key = {row.pk: row for row in standing} | seconds_by_key
    seconds = [row for row in asked if row.origin == "follow_up" and row.follows_id]
    firsts = Prescription.objects.filter(pk__in={row.follows_id for row in seconds}).order_by("id")
    parts = parts_of([*firsts, *seconds])
    return [
        (firsts_by_key[first.pk], seconds_by_key[part.pk], second.least_lag_days or 0, most_lag_days(second))
        for second in seconds
        for first in parts[second.follows_id or 0]
        for part in parts[second.pk]
        if first.pk in firsts_by_key and part.pk in seconds_by_key
    ]


def most_lag_days(second: Prescription) -> int:
    return ANY_DAYS if second.most_lag_days is None else second.most_lag_days
