"""The best of all plans of a tiny season, found by looking at each of them."""

from collections import defaultdict
from dataclasses import replace
from itertools import product
from math import exp, hypot
from statistics import NormalDist
from typing import Any

import numpy as np

from tests.estimating.planned import day, rich_season

OUT = None


def _places(facts, visit):
    """Crews and days where a visit may stand by itself, and being left out."""
    found: list[Any] = [OUT]
    for crew in facts.crews:
        for each in facts.days:
            open_day = each not in facts.days_off | crew.days_off | set(facts.closed_days.get(visit.site, ()))
            if visit.skills <= crew.skills and visit.first_day <= each <= visit.last_day and open_day:
                found.append((crew, each))
    return found


def _in_order(facts, stands):
    for chain in facts.chains:
        first, second = stands[chain.first], stands[chain.second]
        if second is not OUT and first is OUT:
            return False
        if second is not OUT and not chain.least_days <= (second[1] - first[1]).days <= chain.most_days:
            return False
    return True


def _cost(facts, work):
    """Cost of a set of crew-days, or None where a rule is broken."""
    cost = 0.0
    out: dict[Any, int] = defaultdict(int)
    spent: dict[str, float] = defaultdict(float)
    z = NormalDist().inv_cdf(facts.budget_level)
    for (crew, date), visits in work.items():
        for kind in facts.equipment:
            out[kind, date] += max(visit.equipment.get(kind, 0) for visit in visits)
        hours = sum(visit.hours for visit in visits)
        for site in {visit.site for visit in visits}:
            here = [visit for visit in visits if visit.site == site]
            drive = facts.drive_hours(crew, site)
            hours += drive
            for visit in here:
                road = drive * visit.hours / sum(other.hours for other in here)
                factor = exp(z * hypot(visit.own_log_sd, visit.shared_log_sd))
                cost += (visit.hours + road) * crew.cost_cents_per_hour
                for fund in {"", visit.fund}:
                    spent[fund] += (visit.hours * factor + road) * crew.cost_cents_per_hour
        if hours > crew.day_hours + 1e-7:
            return None
    over = [fund for fund, budget in facts.fund_budgets_cents.items() if spent[fund] > budget + 0.01]
    over += [""] if facts.budget_cents is not None and spent[""] > facts.budget_cents + 0.01 else []
    over += [kind for (kind, _), units in out.items() if units > facts.equipment[kind]]
    return None if over else cost


def least_lost_cents(facts):
    """Value left out and cost of the best plan (without fixed, former and owed visits)."""
    best = float("inf")
    for places in product(*(_places(facts, visit) for visit in facts.visits)):
        stands = dict(zip((visit.id for visit in facts.visits), places, strict=True))
        if not _in_order(facts, stands):
            continue
        work = defaultdict(list)
        for visit, place in zip(facts.visits, places, strict=True):
            if place is not OUT:
                work[place].append(visit)
        lost = sum(visit.value_cents for visit in facts.visits if stands[visit.id] is OUT)
        cost = _cost(facts, work) if lost < best else None
        if cost is not None:
            best = min(best, lost + cost)
    return best


def tiny_season(seed, visits=5):
    """A season so small that all of its plans can be looked at: every third one with chains, funds and equipment."""
    random = np.random.default_rng(seed)
    facts = rich_season(seed, visits, 2, budget=int(random.integers(40_000, 200_000)), level=0.8)
    needs = []
    for need in facts.visits:
        first = min(3, (need.first_day - facts.first_day).days)
        last = min(4, first + int(random.integers(0, 3)))
        plain = {} if seed % 3 == 0 else {"equipment": {}, "fund": ""}
        needs.append(replace(need, first_day=day(first), last_day=day(last), owed=False, **plain))
    chains = facts.chains if seed % 3 != 1 else ()
    budget = facts.budget_cents if seed % 2 else None
    return replace(
        facts, visits=tuple(needs), last_day=day(4), fixed=(), previous=(), chains=chains, budget_cents=budget
    )
