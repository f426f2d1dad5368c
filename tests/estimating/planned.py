"""Small seasons to plan; all invented."""

from datetime import date, timedelta
from typing import Any

import numpy as np

from estimating.plan import CrewSupply, PlanInput, VisitNeed

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
