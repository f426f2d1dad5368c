"""Small seasons to plan; all invented."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from estimating.plan import Assignment, Chain, CrewSupply, PlanInput, VisitNeed
from estimating.plan_check import check_plan

MONDAY = date(2027, 3, 1)


def day(offset):
    return MONDAY + timedelta(days=offset)


def visit(name="v1", **changed):
    given: dict[str, Any] = {"prescription": f"p {name}", "site": "north", "hours": 10.0, "value_cents": 100_000}
    window: dict[str, Any] = {"first_day": MONDAY, "last_day": day(4)}
    return VisitNeed(id=name, **(given | window | changed))


def crew(name="c1", **changed):
    given: dict[str, Any] = {
        "people": 2,
        "hours_a_day": 8.0,
        "cost_cents_per_hour": 3_000,
        "skills": {"crew", "applicator"},
    }
    return CrewSupply(id=name, **(given | changed))


def season(visits, crews=None, **changed):
    given: dict[str, Any] = {"first_day": MONDAY, "last_day": day(13), "drive_minutes": {"north": 60, "south": 30}}
    given |= {"visits": visits, "crews": [crew()] if crews is None else crews}
    return PlanInput(**(given | changed))


def skills_off(random):
    """Days on which a skill is missing."""
    return tuple((day(int(offset)), frozenset({"applicator", "crew"})) for offset in random.integers(0, 14, 4))


def random_closures(random):
    return {site: {day(int(offset)) for offset in random.integers(0, 14, 4)} for site in ("north", "south")}


def random_season(seed, visits=60, crews=3, budget=None):
    random = np.random.default_rng(seed)
    needs = []
    for number in range(visits):
        first = int(random.integers(0, 10))
        needs.append(
            visit(
                f"v{number:03}",
                site=str(random.choice(["north", "south"])),
                hours=float(random.uniform(1, 12)),
                value_cents=int(random.integers(5_000, 200_000)),
                first_day=day(first),
                last_day=day(first + int(random.integers(0, 9))),
                skills=set(random.choice(["crew", "applicator", "sawyer"], size=int(random.integers(0, 3)))),
                other_cents=int(random.integers(0, 4)) * 1_111,
            )
        )
    supply = [
        crew(
            f"c{number}",
            people=int(random.integers(1, 4)),
            cost_cents_per_hour=int(random.integers(2_500, 4_500)),
            skills=set(random.choice(["crew", "applicator", "sawyer"], size=3)),
            days_off=[day(int(offset)) for offset in random.integers(0, 14, 3)],
        )
        for number in range(crews)
    ]
    closed = random_closures(random)
    return season(needs, supply, days_off=[day(5), day(6), day(12), day(13)], closed_days=closed, budget_cents=budget)


def _chained(random, names):
    pairs = zip(names[0::4], names[1::4], strict=False)
    lags = [(first, second, int(random.integers(0, 3)), int(random.integers(3, 9))) for first, second in pairs]
    return [Chain(first=first, second=second, least_days=least, most_days=most) for first, second, least, most in lags]


def _placed(random, facts, share):
    """Some visits as a former plan or the field has them, whether or not that keeps every rule."""
    return tuple(
        Assignment(need.id, facts.crews[int(random.integers(len(facts.crews)))].id, day(int(random.integers(0, 14))))
        for need in facts.visits
        if facts.crews and random.random() < share
    )


def rich_season(seed, visits=30, crews=3, budget=None, level=0.5):
    """A random season with all that a season can have: chains, equipment, funds, owed, fixed and former visits."""
    random = np.random.default_rng(seed)
    plain = random_season(seed, visits, crews, budget)
    needs = [
        replace(
            need,
            equipment={"sprayer": 1} if random.random() < 0.3 else {},
            fund=str(random.choice(["", "park", "county"])),
            owed=bool(random.random() < 0.2),
            own_log_sd=0.2,
            shared_log_sd=0.1,
            shares_error_with="pull",
        )
        for need in plain.visits
    ]
    chained = _chained(random, [need.id for need in needs])
    whole = replace(
        plain,
        visits=tuple(needs),
        crews=tuple(replace(each, skills_away=skills_off(random)) for each in plain.crews),
        chains=tuple(chained),
        equipment={"sprayer": 1},
        fund_budgets_cents={"park": 150_000, "county": 90_000},
        budget_level=level,
    )
    fixed, previous = _placed(random, whole, 0.05), _placed(random, whole, 0.3)
    return replace(whole, fixed=fixed, previous=previous)


def with_move(plan, name, crew_id, date):
    """A plan with a visit elsewhere."""
    others = tuple(entry for entry in plan.assignments if entry.visit != name)
    left_out = tuple(entry for entry in plan.left_out if entry.visit != name)
    return replace(plan, assignments=(*others, Assignment(name, crew_id, date)), left_out=left_out)


def faults_with(facts, plan, name, crew_id, date):
    """What the check finds wrong with a plan with a visit elsewhere, but what the plan says of itself."""
    faults = check_plan(facts, with_move(plan, name, crew_id, date))
    return [fault for fault in faults if not fault.startswith("the plan says")]
