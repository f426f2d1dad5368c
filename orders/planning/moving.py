"""A visit moved by hand: what it would break, told at once."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from estimating.plan_moving import breaks_of_move
from orders.common.errors import FieldError, Invalid, Refusal, WrongState
from orders.common.stamp import Stamp
from orders.crews.models import Crew
from orders.estimates.selectors import rate_book_in_force
from orders.planning.closed import SeasonClosures
from orders.planning.convert import Demand, demand
from orders.planning.models import Prescription, Season, Visit, VisitShare
from orders.planning.supply import present_people

# Licenses, labels and closures are not the coordinator's to let pass, and nobody works with an empty crew.
HARD = frozenset({"license", "label", "nobody", "closed"})


class MoveBreaks(Refusal):
    """The move breaks what nobody may let pass."""

    code = "move_breaks"
    title = "The visit cannot be moved there"


@dataclass(frozen=True)
class Break:
    """What a move breaks. `kind`: license, label, window, seed deadline, closed, day off, hours, chain, equipment,
    money or nobody. A hard one is refused; the others need a reason."""

    kind: str
    words: str
    is_hard: bool


def break_of(kind: str, words: str) -> Break:
    """One that is hard by its kind."""
    return Break(kind, words, kind in HARD)


def move_check(breaks: Iterable[Break], reason: str) -> None:
    """Refuse what is hard, and the rest without a reason."""
    found = list(breaks)
    hard = [one for one in found if one.is_hard]
    if hard:
        errors = [FieldError("day", one.words, code=one.kind.replace(" ", "_")) for one in hard]
        raise MoveBreaks(" ".join(one.words for one in hard), errors)
    if found and not reason.strip():
        words = " ".join(one.words for one in found)
        raise Invalid(
            f"Say why it is moved all the same. {words}", [FieldError("reason", "is required", code="required")]
        )


def by_hand(visit: Visit, stamp: Stamp, breaks: Iterable[Break] = ()) -> str:
    """Why it is where a hand is about to put it: where it was, who moved it, the reason, and what that breaks."""
    return said_by_hand(f"Moved by hand from {visit.crew} on {visit.day}", stamp, breaks)


def said_by_hand(what: str, stamp: Stamp, breaks: Iterable[Break]) -> str:
    """What a hand did, whose, the reason, and what that breaks."""
    moved = what + (f" by {stamp.by.get_full_name() or stamp.by}" if stamp.by else "")
    said = [f"{moved}: {reason}" if (reason := stamp.reason.strip()) else moved]
    said += [f"It breaks ({one.kind}): {one.words}" for one in breaks]
    return " ".join(text if text.endswith((".", "!", "?")) else f"{text}." for text in said)


def move_breaks(visit: Visit, crew: Crew, day: date) -> tuple[Break, ...]:
    """What breaks beside everything else that stands; the labels' word is a later stage's to add."""
    _check(visit, day)
    shares = list(visit.shares.select_related("prescription__patch__site", "prescription__method").order_by("id"))
    asked = demand(visit.season, rate_book_in_force(), again=True)
    work = [share.prescription for share in shares]
    return said_once([*_planned_breaks(asked, visit, shares, crew, day), *own_breaks(visit.season, work, crew, day)])


def said_once(found: Iterable[Break]) -> tuple[Break, ...]:
    return tuple({(one.kind, one.words): one for one in found}.values())


def _check(visit: Visit, day: date) -> None:
    if visit.state not in {"planned", "ordered"}:
        raise WrongState(f"The visit is {visit.get_state_display().lower()}; it cannot be moved.")
    day_check(visit.season, day)


def day_check(season: Season, day: date) -> None:
    if not season.first_day <= day <= season.last_day:
        message = f"must be from {season.first_day} to {season.last_day}"
        raise Invalid("The day is outside the season.", [FieldError("day", message)])


def _planned_breaks(
    asked: Demand, visit: Visit, shares: Sequence[VisitShare], crew: Crew, day: date
) -> Iterator[Break]:
    """The planner's word on the parts of the visit, moved together."""
    stands = {entry.visit for entry in (*asked.plan_input.fixed, *asked.plan_input.previous)}
    named = (f"{share.prescription.public_id}@{visit.public_id}" for share in shares)
    if parts := [part for part in named if part in stands]:
        yield from planned_breaks(asked, parts, crew, day)


def planned_breaks(asked: Demand, parts: Sequence[str], crew: Crew, day: date) -> Iterator[Break]:
    """The planner's word on pieces that would be there, all that stands staying where it is."""
    given = replace(asked.plan_input, fixed=(), previous=())
    stands = (*asked.plan_input.fixed, *asked.plan_input.previous)
    for one in breaks_of_move(given, stands, parts, crew.name, day):
        yield break_of(one.kind, asked.words(one.words))


def own_breaks(season: Season, work: Iterable[Prescription], crew: Crew, day: date) -> Iterator[Break]:
    """What the planner does not look at: who is there, closures of one method, and seed deadlines."""
    if not present_people(crew, day):
        yield break_of("nobody", f"Nobody of {crew} is there on {day}.")
    closed = SeasonClosures(season)
    for asked in work:
        site = asked.patch.site
        if day in closed.of_method(site, asked.method.code) - closed.of_site(site):
            yield break_of("closed", f"{site} is closed to {asked.method} on {day}.")
        yield from _seed_break(asked, day)


def _seed_break(asked: Prescription, day: date) -> Iterator[Break]:
    if asked.seed_due_on is not None and day > asked.seed_due_on:
        yield break_of("seed deadline", f"{asked} is due before seed on {asked.seed_due_on}.")
