"""A visit put on a day by hand: work that is asked for and that no visit serves yet, a day's piece at a time."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from orders.common.changes import change_record
from orders.common.errors import WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Crew
from orders.estimates.selectors import rate_book_in_force
from orders.planning.convert import Demand, Need, demand
from orders.planning.models import Prescription, Visit, VisitShare
from orders.planning.moving import Break, day_check, own_breaks, planned_breaks, said_once
from orders.planning.services import states_follow


@dataclass(frozen=True)
class Placed:
    """What would go on the day, at most what a crew does in one, and what that would break."""

    share: float
    hours: float
    breaks: tuple[Break, ...]


def place_breaks(asked: Prescription, crew: Crew, day: date) -> Placed:
    """A piece of what is left put with a crew on a day, beside everything that stands; the labels' word is a later
    stage's to add."""
    day_check(asked.season, day)
    found = demand(asked.season, rate_book_in_force(), again=True)
    piece = _piece_left(found, asked)
    breaks = [*planned_breaks(found, [piece.visit_id], crew, day), *own_breaks(asked.season, [asked], crew, day)]
    return Placed(piece.share, piece.hours, said_once(breaks))


def _piece_left(found: Demand, asked: Prescription) -> Need:
    """The first piece that no visit serves; each is as long as the smallest able crew's day at most."""
    left = [need for need in found.needs.values() if need.visit is None and need.prescription.pk == asked.pk]
    if left:
        return left[0]
    shut = [one.because for one in found.no_way if one.prescription.pk == asked.pk]
    raise WrongState(shut[0] if shut else f"{asked} has its visits already, or is no longer asked for.")


@writing()
def visit_add(
    *,
    prescription: Prescription,
    crew: Crew,
    day: date,
    placed: Placed,
    because: Sequence[str],
    public_id: UUID | None = None,
    stamp: Stamp,
) -> Visit:
    """A planned visit that new plans leave where it is."""
    named = {} if public_id is None else {"public_id": public_id}
    visit = Visit.objects.create(
        season=prescription.season,
        crew=crew,
        site=prescription.patch.site,
        day=day,
        state="planned",
        because=list(because),
        is_kept=True,
        kept_because=stamp.reason[:200],
        **named,
    )
    VisitShare.objects.create(
        visit=visit, prescription=prescription, planned_hours=placed.hours, share=min(1.0, placed.share)
    )
    states_follow(prescription.season)
    breaks = [f"{one.kind}: {one.words}" for one in placed.breaks]
    after = {"day": str(day), "crew": str(crew), "work": str(prescription), "breaks": breaks}
    change_record(stamp=stamp, verb="visit_add", entity=visit, after=after)
    return visit
