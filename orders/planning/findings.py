"""What a plan says, as its run keeps it: what is left out and why, money by fund, what moved, and its figures."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Any

from estimating.plan import Assignment, LeftOut, Plan
from orders.planning.convert import Demand, Need
from orders.planning.models import Prescription, Season
from orders.planning.selectors import LEAST_SHARE
from orders.planning.ways import NoWay


def left_out_rows(asked: Demand, plan: Plan) -> list[dict[str, Any]]:
    """Pieces without a place, with the constraint and the cheapest change that would let each in."""
    rows = [_left_out(asked, asked.needs[left.visit], left) for left in plan.left_out]
    return [*rows, *(_no_way(row) for row in asked.no_way)]


def _left_out(asked: Demand, need: Need, left: LeftOut) -> dict[str, Any]:
    if need.way.last_day < asked.from_day:
        over = "Its window was over when the plan was asked for."
        return _no_way(NoWay(need.prescription, need.way, need.hours, "window", over))
    return {
        **_piece(need.prescription, need.way.method.name, need.hours),
        "constraint": left.constraint,
        "because": asked.words(left.because),
        "change": left.change,
        "would_help": asked.words(left.would_help),
        "change_cents": left.change_cents,
    }


def _no_way(row: NoWay) -> dict[str, Any]:
    nothing = {"change": "", "would_help": "", "change_cents": 0}
    piece = _piece(row.prescription, row.way.method.name, row.hours)
    return {**piece, "constraint": row.constraint, "because": row.because, **nothing}


def _piece(prescription: Prescription, method: str, hours: float) -> dict[str, Any]:
    return {
        "prescription": str(prescription.public_id),
        "patch": str(prescription.patch),
        "method": method,
        "hours": round(hours, 2),
    }


def fund_rows(season: Season, plan: Plan) -> list[dict[str, Any]]:
    """Each budget with what the plan takes from it; fund "" is the season's."""
    names = {"": "The season's budget", **dict(season.funds.order_by("code").values_list("code", "name"))}
    return [
        {
            "fund": use.fund,
            "name": names.get(use.fund, use.fund),
            "budget_cents": use.budget_cents,
            "cost_cents": use.cost_cents,
            "level_cents": use.level_cents,
            "chance_over": round(use.chance_over, 4),
        }
        for use in plan.funds
    ]


def moved_rows(asked: Demand, plan: Plan) -> list[dict[str, Any]]:
    """Old beside new for every part of the standing plan that does not stay, and what is new in the plan."""
    places = {entry.visit: entry for entry in plan.assignments}
    moved = set(plan.moved)
    rows = [
        _moved(need, places.get(key))
        for key, need in sorted(asked.needs.items(), key=lambda entry: (str(entry[1].prescription.patch), entry[0]))
        if key not in asked.fixed and (key in moved or key not in asked.previous)
    ]
    return [row for row in rows if row["old_day"] or row["new_day"]]


def _moved(need: Need, place: Assignment | None) -> dict[str, Any]:
    """A visit that was called off and finds no new place waits for its order's close, so it is not told here."""
    visit = need.visit if place or (need.visit and need.visit.state != "not_done") else None
    return {
        "patch": str(need.prescription.patch),
        "prescription": str(need.prescription.public_id),
        "method": need.way.method.name,
        "visit": str(visit.public_id) if visit else None,
        "old_day": visit.day.isoformat() if visit else None,
        "old_crew": visit.crew.name if visit else None,
        "new_day": place.day.isoformat() if place else None,
        "new_crew": place.crew if place else None,
    }


def figures_of(asked: Demand, plan: Plan, left_out: int) -> dict[str, Any]:
    """Plain numbers to compare plans by."""
    served = _served(asked, plan.assignments)
    owed = [row for row in _prescriptions(asked) if row.seed_due_on is not None]
    return {
        "area_m2": round(_area_m2(served), 1),
        "deadlines_met": sum(_in_time(row, served) for row in owed),
        "deadlines_owed": len(owed),
        "cost_cents": plan.cost_cents,
        "person_hours": round(sum(asked.needs[entry.visit].hours for entry in plan.assignments), 2),
        "visits": len({(e.crew, e.day, asked.needs[e.visit].prescription.patch.site_id) for e in plan.assignments}),
        "left_out": left_out,
        "by_fund": _by_fund(plan),
    }


Served = dict[int, list[tuple[Need, Assignment]]]


def _served(asked: Demand, assignments: Iterable[Assignment]) -> Served:
    served: Served = defaultdict(list)
    for entry in assignments:
        need = asked.needs[entry.visit]
        served[need.prescription.pk].append((need, entry))
    return served


def _prescriptions(asked: Demand) -> Iterator[Prescription]:
    rows = [need.prescription for need in asked.needs.values()] + [row.prescription for row in asked.no_way]
    yield from {row.pk: row for row in rows}.values()


def _in_time(asked: Prescription, served: Served) -> bool:
    """All of it is done by its seed deadline."""
    parts = served.get(asked.pk, [])
    done = sum(need.share for need, entry in parts if asked.seed_due_on and entry.day <= asked.seed_due_on)
    return done >= 1 - LEAST_SHARE


def _area_m2(served: Served) -> float:
    """Ground counts once, by the work that covers most of it; a remainder goes on with the work that it is left of."""
    works: dict[tuple[int, int], float] = defaultdict(float)
    for parts in served.values():
        for need, _ in parts:
            if need.prescription.purpose != "check":
                area = need.way.estimate.treated_area_m2 * need.prescription.share_left * need.share
                works[need.prescription.patch_id, _work(need.prescription)] += area
    by_patch: dict[int, float] = defaultdict(float)
    for (patch, _), area in works.items():
        by_patch[patch] = max(by_patch[patch], area)
    return sum(by_patch.values())


def _work(asked: Prescription) -> int:
    while asked.origin == "remainder" and asked.follows is not None:
        asked = asked.follows
    return asked.pk


def _by_fund(plan: Plan) -> dict[str, int]:
    return {use.fund: use.cost_cents for use in plan.funds}
