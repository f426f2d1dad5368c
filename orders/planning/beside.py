"""Where the plan has the work that a what-if plans anew: it starts there, so that more means do not
come out worse by the search's luck alone."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from itertools import islice

from django.db.models import Q

from estimating.plan import Assignment, VisitNeed
from orders.common.models.run import DONE
from orders.planning.models import PlanRun, Season, VisitShare
from orders.planning.standing import Standing


def places_beside(season: Season, pieces: Iterable[VisitNeed], parts: Iterable[Standing]) -> tuple[Assignment, ...]:
    """A place for each piece of a prescription that the newest plan's proposals, and standing visits that it does not
    replace, take care of; a place of many hours takes as many pieces. `parts` stand and are no pieces."""
    places = _places(season, {part.visit.pk for part in parts})
    waiting: dict[str, list[VisitNeed]] = defaultdict(list)
    for piece in pieces:
        if "@" not in piece.id:
            waiting[piece.prescription].append(piece)
    return tuple(entry for key, rows in waiting.items() for entry in _placed(rows, places.get(key, ())))


def _placed(pieces: list[VisitNeed], places: Iterable[VisitShare]) -> Iterator[Assignment]:
    left = iter(pieces)
    for share in places:
        count = max(1, round(share.planned_hours / pieces[0].hours))
        for piece in islice(left, count):
            yield Assignment(piece.id, share.visit.crew.name, share.visit.day)


def _places(season: Season, standing: Collection[int]) -> dict[str, list[VisitShare]]:
    """By prescription; proposals first, each in order of their days."""
    made = PlanRun.objects.filter(season=season, state=DONE, purpose__in=["plan", "replan"], dropped_at=None)
    newest = made.order_by("-id").first()
    proposed = Q(visit__state="proposed", visit__plan_run=newest)
    rows = VisitShare.objects.filter(proposed | Q(visit__state__in=["planned", "ordered"]), visit__season=season)
    rows = rows.exclude(visit__in=standing).select_related("visit__crew", "prescription")
    found: dict[str, list[VisitShare]] = defaultdict(list)
    shares = sorted(rows, key=lambda share: (share.visit.state != "proposed", share.visit.day, share.pk))
    replaced = {share.visit.replaces_id for share in shares if share.visit.state == "proposed"}
    for share in shares:
        if share.visit_id not in replaced:
            found[str(share.prescription.public_id)].append(share)
    return found
