"""An independent check of a plan: it shares no code with the planner beyond the inputs and the rounding of money.

It counts in floating hours and fractions of a cent, from the definitions of `PlanInput` alone. Fixed visits stay where
they are whatever they break; a day, budget or count of equipment that is overrun is a fault only where a visit that is
not fixed takes part in it.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from datetime import date
from fractions import Fraction
from math import exp, hypot
from statistics import NormalDist

from estimating.plan import Assignment, CrewSupply, Plan, PlanInput, VisitNeed
from estimating.pricing import to_cents

TOLERANCE_HOURS = 1e-6
TOLERANCE_CENTS = 0.5

Work = dict[tuple[str, date], list[VisitNeed]]


def _each_visit_once(plan_input: PlanInput, plan: Plan) -> Iterator[str]:
    counted = Counter(entry.visit for entry in plan.assignments) + Counter(entry.visit for entry in plan.left_out)
    for visit in plan_input.visits:
        if counted[visit.id] != 1:
            yield f"visit {visit.id} stands in the plan {counted[visit.id]} times"
    for unknown in sorted(set(counted) - {visit.id for visit in plan_input.visits}):
        yield f"visit {unknown} is not of this season"


def _one_assignment(plan_input: PlanInput, entry: Assignment, visit: VisitNeed, crew: CrewSupply) -> Iterator[str]:
    lacking = {skill for day, away in crew.skills_away if day == entry.day for skill in away}
    if not visit.skills <= crew.skills or visit.skills & lacking:
        yield f"crew {crew.id} lacks skills for visit {visit.id}"
    if not visit.first_day <= entry.day <= visit.last_day:
        yield f"visit {visit.id} is outside its window on {entry.day}"
    if not plan_input.first_day <= entry.day <= plan_input.last_day:
        yield f"visit {visit.id} is outside the season on {entry.day}"
    if entry.day in plan_input.closed_days.get(visit.site, ()):
        yield f"site {visit.site} is closed on {entry.day}"
    if entry.day in crew.days_off or entry.day in plan_input.days_off:
        yield f"crew {crew.id} does not work on {entry.day}"


def _fixed(plan_input: PlanInput, plan: Plan) -> Iterator[str]:
    for entry in sorted(set(plan_input.fixed) - set(plan.assignments), key=lambda entry: entry.visit):
        yield f"visit {entry.visit} is fixed with crew {entry.crew} on {entry.day}, but the plan moves it"


def _chains(plan_input: PlanInput, plan: Plan) -> Iterator[str]:
    day = {entry.visit: entry.day for entry in plan.assignments}
    standing = {entry.visit for entry in plan_input.fixed}
    for chain in plan_input.chains:
        if chain.second not in day or chain.second in standing:
            continue
        if chain.first not in day:
            yield f"visit {chain.second} is planned, but {chain.first}, which it comes after, is not"
        elif not chain.least_days <= (lag := (day[chain.second] - day[chain.first]).days) <= chain.most_days:
            yield f"visit {chain.second} comes {lag} days after {chain.first}, not {chain.least_days}-{chain.most_days}"


def _sites(visits: Iterable[VisitNeed]) -> list[str]:
    return sorted({visit.site for visit in visits})


def _full_days(plan_input: PlanInput, work: Work, standing: set[str]) -> Iterator[str]:
    """Person-hours of each crew's day: the visits, and the drive to each of their sites once."""
    crews = {crew.id: crew for crew in plan_input.crews}
    for (name, day), visits in work.items():
        crew, usual = crews[name], dict(crews[name].other_hours).get(day, crews[name].hours_a_day)
        road = sum(crew.people * plan_input.drive_minutes[site] / 60 for site in _sites(visits))
        worked, most = sum(visit.hours for visit in visits) + road, crew.people * usual
        if worked > most + TOLERANCE_HOURS and any(visit.id not in standing for visit in visits):
            yield f"crew {name} works {worked:.2f} person-hours on {day}, more than its {most:g}"


def _equipment(plan_input: PlanInput, work: Work, standing: set[str]) -> Iterator[str]:
    """A crew has with it on a day the most that any of its visits needs of a kind."""
    for kind, units in plan_input.equipment.items():
        out: dict[date, int] = defaultdict(int)
        moved: set[date] = set()
        for (_, day), visits in work.items():
            needing = [visit for visit in visits if kind in visit.equipment]
            out[day] += max((visit.equipment[kind] for visit in needing), default=0)
            moved |= {day for visit in needing if visit.id not in standing}
        for day in sorted(moved):
            if out[day] > units:
                yield f"{out[day]} of {kind} are out on {day}, but there are {units}"


def _drives(plan_input: PlanInput, work: Work) -> Iterator[tuple[Fraction, list[VisitNeed], CrewSupply]]:
    """Cost of each drive in cents, the visits that share it, and the crew."""
    crews = {crew.id: crew for crew in plan_input.crews}
    for (name, _), visits in work.items():
        for site in _sites(visits):
            crew = crews[name]
            hours = Fraction(plan_input.drive_minutes[site]) * crew.people / 60
            yield hours * crew.cost_cents_per_hour, [visit for visit in visits if visit.site == site], crew


def _cost(plan_input: PlanInput, work: Work) -> Fraction:
    return sum(
        (
            road + sum(Fraction(visit.hours) * crew.cost_cents_per_hour + visit.other_cents for visit in visits)
            for road, visits, crew in _drives(plan_input, work)
        ),
        Fraction(0),
    )


def _charges(plan_input: PlanInput, work: Work) -> dict[str, float]:
    """By fund ("": all together) what the plan takes at the level that budgets are held at, and at least on average."""
    z = NormalDist().inv_cdf(plan_input.budget_level)
    charges: dict[str, float] = defaultdict(float)
    for road, visits, crew in _drives(plan_input, work):
        hours = sum(visit.hours for visit in visits)
        for visit in visits:
            log_sd = hypot(visit.own_log_sd, visit.shared_log_sd)
            spread = max(exp(z * log_sd), exp(log_sd**2 / 2))
            own = visit.hours * crew.cost_cents_per_hour + visit.other_cents
            charge = own * spread + float(road) * visit.hours / hours
            charges[""] += charge
            if visit.fund:
                charges[visit.fund] += charge
    return charges


def _money(plan_input: PlanInput, plan: Plan, work: Work, standing: set[str]) -> Iterator[str]:
    cost = to_cents(_cost(plan_input, work) / 100)
    if abs(cost - plan.cost_cents) > 1:
        yield f"the plan says it costs {plan.cost_cents} cents, but its visits cost {cost}"
    value = {visit.id: visit.value_cents for visit in plan_input.visits}
    total = sum(value.get(entry.visit, 0) for entry in plan.assignments)
    if total != plan.value_cents:
        yield f"the plan says it is worth {plan.value_cents} cents, but its visits are worth {total}"
    yield from _budgets(plan_input, work, standing)


def _budgets(plan_input: PlanInput, work: Work, standing: set[str]) -> Iterator[str]:
    charges = _charges(plan_input, work)
    fund = {visit.id: visit.fund for visits in work.values() for visit in visits if visit.id not in standing}
    if plan_input.budget_cents is not None and fund and charges[""] > plan_input.budget_cents + TOLERANCE_CENTS:
        yield f"the plan takes {charges['']:.0f} cents, over the budget of {plan_input.budget_cents}"
    for name, budget in plan_input.fund_budgets_cents.items():
        if name in fund.values() and charges[name] > budget + TOLERANCE_CENTS:
            yield f"fund {name} pays {charges[name]:.0f} cents, over its budget of {budget}"


def _moved(plan_input: PlanInput, plan: Plan) -> Iterator[str]:
    visits, crews = {visit.id for visit in plan_input.visits}, {crew.id for crew in plan_input.crews}
    standing = {entry.visit for entry in plan_input.fixed}
    moved = {
        entry.visit
        for entry in set(plan_input.previous) - set(plan.assignments)
        if entry.visit in visits - standing
        and entry.crew in crews
        and plan_input.first_day <= entry.day <= plan_input.last_day
    }
    if moved != set(plan.moved):
        yield f"the plan says that it moves {len(plan.moved)} visits, but it moves {len(moved)}"


def check_plan(plan_input: PlanInput, plan: Plan) -> tuple[str, ...]:
    """Everything that is wrong with a plan, in plain words; nothing: the plan keeps every constraint."""
    visits = {visit.id: visit for visit in plan_input.visits}
    crews = {crew.id: crew for crew in plan_input.crews}
    standing = {entry.visit for entry in plan_input.fixed}
    wrong = list(_each_visit_once(plan_input, plan))
    work: Work = defaultdict(list)
    for entry in plan.assignments:
        if entry.visit not in visits or entry.crew not in crews:
            wrong.append(f"visit {entry.visit} is given to crew {entry.crew}: one of them is unknown")
            continue
        visit, crew = visits[entry.visit], crews[entry.crew]
        wrong.extend(() if entry in plan_input.fixed else _one_assignment(plan_input, entry, visit, crew))
        work[crew.id, entry.day].append(visit)
    wrong.extend(_fixed(plan_input, plan))
    wrong.extend(_chains(plan_input, plan))
    wrong.extend(_full_days(plan_input, work, standing))
    wrong.extend(_equipment(plan_input, work, standing))
    wrong.extend(_money(plan_input, plan, work, standing))
    wrong.extend(_moved(plan_input, plan))
    return tuple(wrong)
