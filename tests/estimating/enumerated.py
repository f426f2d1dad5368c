"""The best of all plans of a tiny season, found by looking at each of them."""

from collections import defaultdict
from dataclasses import replace
from itertools import product
from math import exp, hypot
from statistics import NormalDist
from typing import Any

import numpy as np

from estimating.plan import Assignment
from tests.estimating.planned import day, rich_season, skills_off

OUT = None


def _places(facts, visit):
    """Crews and days where a visit may stand by itself, and being left out; a fixed one only where it is."""
    crews = {crew.id: crew for crew in facts.crews}
    fixed: list[Any] = [(crews[entry.crew], entry.day) for entry in facts.fixed if entry.visit == visit.id]
    found: list[Any] = []
    for crew in facts.crews:
        for each in facts.days:
            open_day = each not in facts.days_off | crew.days_off | set(facts.closed_days.get(visit.site, ()))
            if visit.skills <= crew.skills_on(each) and visit.first_day <= each <= visit.last_day and open_day:
                found.append((crew, each))
    return fixed or [*found, OUT]


def _in_order(facts, stands):
    standing = {entry.visit for entry in facts.fixed}
    for chain in facts.chains:
        first, second = stands[chain.first], stands[chain.second]
        if second is OUT or chain.second in standing:
            continue
        if first is OUT or not chain.least_days <= (second[1] - first[1]).days <= chain.most_days:
            return False
    return True


def _factor(facts, visit):
    """Cost at the level that budgets are held at ÷ likely cost."""
    log_sd = hypot(visit.own_log_sd, visit.shared_log_sd)
    return max(exp(NormalDist().inv_cdf(facts.budget_level) * log_sd), exp(log_sd**2 / 2))


def _cost(facts, work):
    """Cost of a set of crew-days, or None where a visit that is not fixed takes part in breaking a rule."""
    cost, is_over = 0.0, False
    out: dict[Any, int] = defaultdict(int)
    spent: dict[str, float] = defaultdict(float)
    free: set[Any] = set()
    standing = {entry.visit for entry in facts.fixed}
    for (crew, date), visits in work.items():
        for kind in facts.equipment:
            out[kind, date] += max(visit.equipment.get(kind, 0) for visit in visits)
        for visit in visits:
            if visit.id not in standing:
                free |= {(kind, date) for kind in visit.equipment} | {"", visit.fund}
        hours = sum(visit.hours for visit in visits)
        for site in {visit.site for visit in visits}:
            here = [visit for visit in visits if visit.site == site]
            drive = facts.drive_hours(crew, site)
            hours += drive
            for visit in here:
                road = drive * visit.hours / sum(other.hours for other in here)
                own, road = visit.hours * crew.cost_cents_per_hour + visit.other_cents, road * crew.cost_cents_per_hour
                cost += own + road
                for fund in {"", visit.fund}:
                    spent[fund] += own * _factor(facts, visit) + road
        is_over |= hours > crew.hours_at_work(date) + 1e-7 and any(visit.id not in standing for visit in visits)
    budgets = dict(facts.fund_budgets_cents) | ({} if facts.budget_cents is None else {"": facts.budget_cents})
    is_over |= any(spent[fund] > budget + 0.01 for fund, budget in budgets.items() if fund in free)
    is_over |= any(units > facts.equipment[each[0]] for each, units in out.items() if each in free)
    return None if is_over else cost


def _moves(facts, stands):
    standing = {entry.visit for entry in facts.fixed}
    return sum(
        stands[entry.visit] is OUT or (stands[entry.visit][0].id, stands[entry.visit][1]) != (entry.crew, entry.day)
        for entry in facts.previous
        if entry.visit not in standing
    )


def least_lost_cents(facts):
    """Value left out, cost, and what moves cost, of the best plan (without owed visits)."""
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
        lost += _moves(facts, stands) * (facts.move_penalty_cents or 0)
        cost = _cost(facts, work) if lost < best else None
        if cost is not None:
            best = min(best, lost + cost)
    return best


def tiny_season(seed, visits=5):
    """A season so small that all of its plans can be looked at: two of three with chains, every third one with funds
    and equipment; some with a fixed visit, some with a former plan, some with days on which skills are missing."""
    random = np.random.default_rng(seed)
    facts = rich_season(seed, visits, 2, budget=int(random.integers(40_000, 200_000)), level=0.8)
    needs = []
    for need in facts.visits:
        first = min(3, (need.first_day - facts.first_day).days)
        last = min(4, first + int(random.integers(0, 3)))
        plain = {} if seed % 3 == 0 else {"equipment": {}, "fund": ""}
        needs.append(replace(need, first_day=day(first), last_day=day(last), owed=False, **plain))
    return replace(
        facts,
        visits=tuple(needs),
        crews=tuple(replace(each, skills_away=() if seed % 4 else skills_off(random)) for each in facts.crews),
        last_day=day(4),
        fixed=_placed(random, facts, 1) if seed % 5 == 2 else (),
        previous=_placed(random, facts, 3) if seed % 7 == 3 else (),
        move_penalty_cents=15_000,
        chains=facts.chains if seed % 3 != 1 else (),
        budget_cents=facts.budget_cents if seed % 2 else None,
    )


def _placed(random, facts, count):
    """Some visits on any crew and day."""
    return tuple(
        Assignment(need.id, facts.crews[int(random.integers(2))].id, day(int(random.integers(5))))
        for need in facts.visits[:count]
    )
