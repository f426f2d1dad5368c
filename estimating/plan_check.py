"""An independent check of a plan: it shares no code with the planner beyond the inputs and the rounding of money."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date
from fractions import Fraction

from estimating.plan import Assignment, CrewSupply, Plan, PlanInput, VisitNeed
from estimating.pricing import to_cents

TOLERANCE_HOURS = 1e-6


def _each_visit_once(plan_input: PlanInput, plan: Plan) -> Iterator[str]:
    counted = Counter(entry.visit for entry in plan.assignments) + Counter(entry.visit for entry in plan.left_out)
    for visit in plan_input.visits:
        if counted[visit.id] != 1:
            yield f"visit {visit.id} stands in the plan {counted[visit.id]} times"
    for unknown in sorted(set(counted) - {visit.id for visit in plan_input.visits}):
        yield f"visit {unknown} is not of this season"


def _one_assignment(plan_input: PlanInput, entry: Assignment, visit: VisitNeed, crew: CrewSupply) -> Iterator[str]:
    if not visit.skills <= crew.skills:
        yield f"crew {crew.id} lacks skills for visit {visit.id}"
    if not visit.first_day <= entry.day <= visit.last_day:
        yield f"visit {visit.id} is outside its window on {entry.day}"
    if not plan_input.first_day <= entry.day <= plan_input.last_day:
        yield f"visit {visit.id} is outside the season on {entry.day}"
    if entry.day in plan_input.closed_days.get(visit.site, ()):
        yield f"site {visit.site} is closed on {entry.day}"
    if entry.day in crew.days_off or entry.day in plan_input.days_off:
        yield f"crew {crew.id} does not work on {entry.day}"


def _worked_hours(
    plan_input: PlanInput, work: dict[tuple[CrewSupply, date], list[VisitNeed]]
) -> dict[tuple[CrewSupply, date], float]:
    """Person-hours of each crew's day: the visits, and the drive to each of their sites once."""
    return {
        (crew, day): sum(visit.hours for visit in visits)
        + sum(crew.people * plan_input.drive_minutes[site] / 60 for site in {visit.site for visit in visits})
        for (crew, day), visits in work.items()
    }


def _money(plan_input: PlanInput, plan: Plan, hours: dict[tuple[CrewSupply, date], float]) -> Iterator[str]:
    cost = sum((Fraction(worked) * crew.cost_cents_per_hour for (crew, _), worked in hours.items()), Fraction(0))
    if abs(to_cents(cost / 100) - plan.cost_cents) > 1:
        yield f"the plan says it costs {plan.cost_cents} cents, but its visits cost {to_cents(cost / 100)}"
    if plan_input.budget_cents is not None and plan.cost_cents > plan_input.budget_cents:
        yield f"the plan costs {plan.cost_cents} cents, over the budget of {plan_input.budget_cents}"
    value = {visit.id: visit.value_cents for visit in plan_input.visits}
    total = sum(value.get(entry.visit, 0) for entry in plan.assignments)
    if total != plan.value_cents:
        yield f"the plan says it is worth {plan.value_cents} cents, but its visits are worth {total}"


def check_plan(plan_input: PlanInput, plan: Plan) -> tuple[str, ...]:
    """Everything that is wrong with a plan, in plain words; nothing: the plan keeps every constraint."""
    visits = {visit.id: visit for visit in plan_input.visits}
    crews = {crew.id: crew for crew in plan_input.crews}
    wrong = list(_each_visit_once(plan_input, plan))
    work: dict[tuple[CrewSupply, date], list[VisitNeed]] = defaultdict(list)
    for entry in plan.assignments:
        if entry.visit not in visits or entry.crew not in crews:
            wrong.append(f"visit {entry.visit} is given to crew {entry.crew}: one of them is unknown")
            continue
        visit, crew = visits[entry.visit], crews[entry.crew]
        wrong.extend(_one_assignment(plan_input, entry, visit, crew))
        work[crew, entry.day].append(visit)
    hours = _worked_hours(plan_input, work)
    for (crew, day), worked in hours.items():
        if worked > crew.day_hours + TOLERANCE_HOURS:
            wrong.append(f"crew {crew.id} works {worked:.2f} person-hours on {day}, more than its {crew.day_hours:g}")
    wrong.extend(_money(plan_input, plan, hours))
    return tuple(wrong)
