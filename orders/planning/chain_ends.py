"""When a piece of work ends: on the real day once it is done, else within its window. Remainders are parts of it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Max

from orders.planning.models import Prescription, VisitShare


@dataclass(frozen=True)
class End:
    """The first and last day on which the work may be over; one day, and real, once all of it is done."""

    earliest: date
    latest: date
    is_real: bool


def root_of(prescription: Prescription) -> Prescription:
    """What a remainder is the rest of; anything else is its own root."""
    while prescription.origin == "remainder" and prescription.follows is not None:
        prescription = prescription.follows
    return prescription


def parts_of(roots: Iterable[Prescription]) -> dict[int, list[Prescription]]:
    """By the root's key: the root and its remainders that stand."""
    parts = {root.pk: [root] for root in roots}
    root_by_part = {pk: pk for pk in parts}
    level = list(parts)
    while level:
        rows = Prescription.objects.filter(origin="remainder", follows_id__in=level).exclude(state="dropped")
        level = []
        for row in rows.order_by("id"):
            root_by_part[row.pk] = root_by_part[row.follows_id or 0]
            parts[root_by_part[row.pk]].append(row)
            level.append(row.pk)
    return parts


def ends_of(roots: Sequence[Prescription], done_on: Mapping[int, date] | None = None) -> Mapping[int, End]:
    """By the root's key: when it is over, with its remainders. `done_on` are days, by key, that are known already."""
    parts = parts_of(roots)
    ids = [row.pk for rows in parts.values() for row in rows]
    shares = VisitShare.objects.filter(prescription_id__in=ids, visit__state="done").order_by()
    worked = dict(shares.values_list("prescription_id").annotate(last=Max("visit__day")))
    known = done_on or {}
    return {root: _last([_end(row, worked, known) for row in rows]) for root, rows in parts.items()}


def _end(row: Prescription, worked: Mapping[int, date], known: Mapping[int, date]) -> End:
    """Done work without a visit that says when counts as done on its last day."""
    if row.pk in known or row.state == "done":
        day = known.get(row.pk) or worked.get(row.pk) or row.last_day
        return End(day, day, True)
    return End(row.first_day, row.last_day, False)


def _last(ends: Sequence[End]) -> End:
    return End(max(end.earliest for end in ends), max(end.latest for end in ends), all(end.is_real for end in ends))
