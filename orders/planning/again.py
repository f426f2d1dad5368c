"""Taking a plan made again: what changes of the standing visits, for their orders to follow."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from django.db.models import Q, QuerySet

from orders.common.changes import change_record, version_bump
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.planning.models import PlanRun, Visit, VisitShare
from orders.planning.selectors import visits
from orders.planning.services import plan_take


@dataclass
class Replanned:
    """`moved`: visits that stay whole with their crew, and the proposal that shows their new day. `cut`: visits that
    stay without some of their parts. `gone`: visits that fall away. `new`: planned now, and on no order yet."""

    moved: dict[Visit, Visit] = field(default_factory=dict)
    cut: dict[Visit, list[VisitShare]] = field(default_factory=dict)
    gone: list[Visit] = field(default_factory=list)
    new: list[Visit] = field(default_factory=list)


@writing()
def replan_accept(*, run: PlanRun, fingerprint: str, stamp: Stamp) -> Replanned:
    """Take the proposals of a plan made again. The standing visits themselves are for the caller to change, on their
    orders or off them."""
    plan_take(run, fingerprint, stamp)
    Visit.objects.filter(season=run.season, state="proposed").exclude(plan_run=run).update(state="dropped")
    proposed: dict[int | None, list[Visit]] = defaultdict(list)
    for visit in visits(run.season).filter(plan_run=run, state="proposed").order_by("day", "id"):
        proposed[visit.replaces_id].append(visit)
    found = Replanned(new=proposed.pop(None, []))
    for old in list(_changed(run, proposed)):
        _sort(found, old, proposed[old.pk])
    for visit in found.new:
        version_bump(visit, expected=None, state="planned")
    after = {"moved": len(found.moved), "gone": len(found.gone), "new": len(found.new)}
    change_record(stamp=stamp, verb="plan_accept", entity=run, after=after)
    return found


def _changed(run: PlanRun, replaced: Iterable[int | None]) -> QuerySet[Visit]:
    """Standing visits that something happens to, also those that are only left out."""
    told = [row["visit"] for row in run.moved if row.get("visit")]
    standing = visits(run.season).filter(state__in=["planned", "ordered", "not_done"])
    return standing.filter(Q(pk__in=list(replaced)) | Q(public_id__in=told))


def _sort(found: Replanned, old: Visit, places: Sequence[Visit]) -> None:
    """What becomes of one standing visit whose parts are proposed at these places. One that was called off makes room
    for a new one."""
    stands = old.state != "not_done"
    stays = [new for new in places if stands and (new.day, new.crew_id) == (old.day, old.crew_id)]
    others = [new for new in places if new not in stays]
    whole = {share.prescription_id for share in old.shares.all()}
    if stays:
        kept = {share.prescription_id for new in stays for share in new.shares.all()}
        found.cut[old] = [share for share in old.shares.all() if share.prescription_id not in kept]
        _stand_in(stays)
        found.new += others
    elif stands and len(others) == 1 and others[0].crew_id == old.crew_id and _serves(others[0]) == whole:
        found.moved[old] = others[0]
        _stand_in(others)
    else:
        found.gone.append(old)
        found.new += others


def _serves(visit: Visit) -> set[int]:
    return {share.prescription_id for share in visit.shares.all()}


def _stand_in(proposals: Sequence[Visit]) -> None:
    """They showed where the standing visit's parts would be; the visit itself goes on."""
    for visit in proposals:
        version_bump(visit, expected=None, state="dropped")


@writing()
def visit_cut(*, visit: Visit, parts: Sequence[VisitShare], stamp: Stamp) -> Visit:
    """Take parts of a visit away that are served elsewhere or by nobody now."""
    named = [str(part.prescription) for part in parts]
    VisitShare.objects.filter(pk__in=[part.pk for part in parts], visit=visit).delete()
    version_bump(visit, expected=None)
    change_record(stamp=stamp, verb="visit_cut", entity=visit, after={"without": named})
    return visit
