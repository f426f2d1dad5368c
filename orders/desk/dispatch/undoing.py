"""The last thing that a person did on the board, kept in the session until the next one, so that it can be undone."""

from datetime import date
from typing import Any
from uuid import UUID

from django.http import HttpRequest

from orders import flow
from orders.common.errors import WrongState
from orders.common.stamp import Stamp
from orders.crews.selectors import crew_get
from orders.moving import visit_put_back, visit_take_off
from orders.planning.models import Season, Visit
from orders.planning.selectors import visits

KEPT = "board_undo"
UNDONE = "Undone"


def undo_keep(request: HttpRequest, kind: str, visit: Visit, words: str, **more: Any) -> None:
    """`kind`: moved (with where it was), added or taken."""
    season = str(visit.season.public_id)
    request.session[KEPT] = {"kind": kind, "season": season, "visit": str(visit.public_id), "words": words, **more}


def undo_forget(request: HttpRequest) -> None:
    request.session.pop(KEPT, None)


def undo_offered(request: HttpRequest, season: Season) -> str:
    """What can be undone on the board of a season, in words; empty where there is nothing."""
    kept = request.session.get(KEPT) or {}
    return str(kept.get("words", "")) if kept.get("season") == str(season.public_id) else ""


def where_it_is(visit: Visit) -> dict[str, Any]:
    """What an undo of a move needs."""
    return {"crew": str(visit.crew.public_id), "day": visit.day.isoformat(), "keep": visit.is_kept}


def undo(request: HttpRequest, season: Season, *, stamp: Stamp) -> Visit:
    """The move is made the other way round, by the same rules; a visit that was added goes, one taken off stands
    again."""
    if not undo_offered(request, season):
        raise WrongState("There is nothing to undo on this board.")
    kept = request.session[KEPT]
    visit = visits(season).get(public_id=UUID(kept["visit"]))
    told = stamp.because(f"{UNDONE}: {kept['words']}"[:200])
    if kept["kind"] == "added":
        visit_take_off(visit=visit, stamp=told)
    elif kept["kind"] == "taken":
        visit_put_back(visit=visit, stamp=told)
    else:
        crew, day = crew_get(UUID(kept["crew"])), date.fromisoformat(kept["day"])
        flow.move_visit(visit=visit, crew=crew, day=day, keep=kept["keep"], stamp=told)
    undo_forget(request)
    return visit
