"""Invented seasons of any size to plan, as JSON: `python -m tests.benchmarks.plan_instances --visits 2000 > FILE`.

Sites lie in a few clusters around a yard. Work comes in four kinds with their own season, length and license: pulling,
cutting, spraying while dormant, treating what grew again after a cut (a chain). The form of the file:

place_drive_h: hours of the round trip, paid once per crew, place and day. visits: place, hours, crews that are able,
first and last day, value if made. rate_per_h: dollars of a crew-hour, driving included. capacity_h[crew][day].
chains: [first, second, least days, most days]. budget: dollars for hours worked and driven, or null.
The cost to be made small: value of visits left out + dollars of hours worked and driven.
"""

import argparse
import json
from datetime import date, timedelta

import numpy as np

from estimating.plan import Chain, CrewSupply, PlanInput, VisitNeed

FIRST_DAY = date(2027, 1, 1)
HOURS_A_DAY = 8.0
# Share of visits, first and last day of the season's part, days of a window, middle hours, share of crews licensed.
KINDS = (
    ("pull", 0.40, 0.0, 1.0, (10, 50), 2.8, 1.0),
    ("cut", 0.30, 0.1, 0.6, (14, 35), 3.4, 0.6),
    ("spray", 0.12, 0.0, 0.35, (7, 25), 1.6, 0.35),
    ("regrowth", 0.18, 0.0, 1.0, (1, 1), 1.4, 0.4),
)


def _sites(random, count):
    """Round trips in hours to sites in clusters around the yard."""
    centers = random.normal(0, 25, (max(2, count // 12), 2))
    at = centers[random.integers(0, len(centers), count)] + random.normal(0, 5, (count, 2))
    return np.clip(np.round(2 * 1.3 * np.hypot(*at.T) / 60, 2), 0.2, 3.0)


def _visit(random, kind, days, sites, able):
    _, _, begin, end, (least, most), hours, _ = kind
    width = int(random.integers(least, most + 1))
    first = int(random.integers(int(begin * days), max(int(begin * days) + 1, int(end * days) - width)))
    length = float(np.clip(np.round(random.lognormal(np.log(hours), 0.5), 2), 0.4, 5.0))
    return {
        "place": int(random.integers(0, sites)),
        "hours": length,
        "crews": able,
        "first_day": first,
        "last_day": min(days - 1, first + width),
        "value": round(length * float(random.gamma(4.0, 120.0)) + 50, 2),
    }


def _after(visit, first, days):
    """A treatment of regrowth, three to seven weeks after its cut."""
    begin, end = first["first_day"] + 21, min(days - 1, first["last_day"] + 49)
    return visit | {"place": first["place"], "first_day": min(begin, days - 1), "last_day": max(begin, end)}


def instance(visits=2000, seed=1, crews=None, days=120, budget_share=0.85):
    """A season; crews grow with the visits, so that about a fifth of the work finds no place."""
    random = np.random.default_rng(seed)
    crews = crews or max(2, round(visits / 165))
    sites = max(4, visits // 25)
    licensed = [sorted(random.permutation(crews)[: max(1, round(kind[-1] * crews))].tolist()) for kind in KINDS]
    counts = [round(kind[1] * visits) for kind in KINDS[1:]]
    kinds = np.repeat(np.arange(4), [visits - sum(counts), *counts])
    made = [_visit(random, KINDS[kind], days, sites, licensed[kind]) for kind in kinds]
    cuts, regrowth = np.flatnonzero(kinds == 1), np.flatnonzero(kinds == 3)
    pairs = list(zip(random.permutation(cuts).tolist(), regrowth.tolist(), strict=False))
    for first, second in pairs:
        made[second] = _after(made[second], made[first], days)
    capacity = np.where(random.random((crews, days)) < 0.05, 0.0, HOURS_A_DAY)
    capacity[:, 5::7] = capacity[:, 6::7] = 0.0
    capacity[random.random((crews, days)) < 0.03] /= 2
    rates = np.round(random.uniform(80, 140, crews))
    return {
        "place_drive_h": _sites(random, sites).tolist(),
        "visits": made,
        "rate_per_h": rates.tolist(),
        "capacity_h": capacity.tolist(),
        "chains": [[first, second, 21, 49] for first, second in pairs],
        "budget": round(budget_share * float(rates @ capacity.sum(axis=1))),
    }


def plan_input(raw):
    """An instance as the planner's facts: crews of one, licenses named after the crews that have them."""
    days = [FIRST_DAY + timedelta(days=number) for number in range(len(raw["capacity_h"][0]))]
    sets = {tuple(visit["crews"]): f"license {number}" for number, visit in enumerate(raw["visits"])}
    return PlanInput(
        first_day=days[0],
        last_day=days[-1],
        visits=tuple(_need(number, visit, days, sets) for number, visit in enumerate(raw["visits"])),
        crews=tuple(_crew(number, raw, days, sets) for number in range(len(raw["rate_per_h"]))),
        drive_minutes={str(place): 60 * hours for place, hours in enumerate(raw["place_drive_h"])},
        budget_cents=round(100 * raw["budget"]) if raw.get("budget") else None,
        chains=tuple(
            Chain(first=str(first), second=str(second), least_days=least, most_days=most)
            for first, second, least, most in raw["chains"]
        ),
    )


def _need(number, visit, days, sets):
    return VisitNeed(
        id=str(number),
        prescription=str(number),
        site=str(visit["place"]),
        hours=visit["hours"],
        first_day=days[visit["first_day"]],
        last_day=days[visit["last_day"]],
        value_cents=round(100 * visit["value"]),
        skills=frozenset({sets[tuple(visit["crews"])]}),
    )


def _crew(number, raw, days, sets):
    hours = dict(zip(days, raw["capacity_h"][number], strict=True))
    most = max([*hours.values(), 0.1])
    return CrewSupply(
        id=str(number),
        people=1,
        hours_a_day=most,
        cost_cents_per_hour=round(100 * raw["rate_per_h"][number]),
        skills=frozenset(name for crews, name in sets.items() if number in crews),
        days_off=frozenset(day for day, each in hours.items() if each <= 0),
        other_hours=tuple((day, each) for day, each in hours.items() if 0 < each < most),
    )


def rows(plan):
    """A plan as [visit, crew, day] by number."""
    return [[int(each.visit), int(each.crew), (each.day - FIRST_DAY).days] for each in plan.assignments]


def main():
    """Print an instance."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name, standard in (("visits", 2000), ("seed", 1), ("days", 120)):
        parser.add_argument(f"--{name}", type=int, default=standard)
    parser.add_argument("--crews", type=int, default=None)
    parser.add_argument("--budget-share", type=float, default=0.85)
    print(json.dumps(instance(**vars(parser.parse_args()))))


if __name__ == "__main__":
    main()
