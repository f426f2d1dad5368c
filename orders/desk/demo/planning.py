"""What the walk shows of the season's plan: windows and why, the plan, what-ifs beside it, a visit moved by hand, and
a plan made again when rain and a sick crew have upset the first one."""

from datetime import UTC, date, datetime, time, timedelta

from estimating.units import acres
from orders import flow
from orders.common.errors import Refusal
from orders.common.tasks import run_work
from orders.crews.models import Crew
from orders.crews.services import absence_add
from orders.desk.demo.scene import Walk
from orders.planning.chains import later_steps
from orders.planning.figures import PlanFigures
from orders.planning.models import PlanRun, Prescription, Season, Visit
from orders.planning.selectors import plan_run_get
from orders.planning.what_if import WhatIf
from orders.workorders.models import WorkOrder

PLAN_ROUNDS = 2_000
WHAT_IFS = (WhatIf(extra_crews=1), WhatIf(budget_percent=90), WhatIf(no_herbicide=True))
SHOWN_WINDOWS = ("dormant-foliar", "cut-stem", "hand-pull")
SICK_CREW, SICK_FROM, SICK_TO = "Hollow crew", date(2027, 7, 12), date(2027, 7, 16)


def windows(steps: Walk) -> None:
    """A window of each kind with its reasons, and how far the chains of treatment reach."""
    asked = Prescription.objects.select_related("patch__site", "method").exclude(state="dropped").order_by("id")
    for code in SHOWN_WINDOWS:
        row = asked.filter(method__code=code, origin="survey").first()
        if row is not None:
            because = f"{row.first_day} to {row.last_day}. {row.window_because}"
            steps.tell(f"           {row.method.name} on {row.patch}: {because}")
    follow_ups = asked.filter(origin="follow_up").count()
    later = sum(len(later_steps(row)) for row in asked)
    steps.tell(f"Chains     {follow_ups} dated follow-ups within the season; {later} more are told for later seasons")


def plan(steps: Walk) -> PlanRun:
    season = Season.objects.get()
    run = _worked(flow.plan_season(season=season, iterations=PLAN_ROUNDS, stamp=steps.stamp("coordinator")))
    steps.tell(
        f"Plan       {run.visits.count()} visits after {run.progress_total:,} rounds: the first plan loses "
        f"{_dollars(run.start_lost_cents)} of worth and cost, this one {_dollars(run.lost_cents)}"
    )
    if run.bound_cents is not None:
        steps.tell(f"           no plan can lose less than {_dollars(run.bound_cents)}; a background run raises that")
    for fund in run.funds:
        steps.tell(
            f"           {fund['name']}: {_dollars(fund['cost_cents'])} of {_dollars(fund['budget_cents'])}, "
            f"{fund['chance_over']:.0%} chance of passing it"
        )
    _left_out(steps, run)
    return run


def _left_out(steps: Walk, run: PlanRun) -> None:
    if not run.left_out:
        steps.tell("           nothing is left out")
        return
    first = run.left_out[0]
    steps.tell(f"           {len(run.left_out)} pieces left out, such as {first['patch']}, {first['method']}:")
    steps.tell(f"           | {first['because']} {first['would_help']}")


def what_ifs(steps: Walk, run: PlanRun) -> None:
    """The same season with other means, beside the plan; nothing of it is kept but its figures."""
    stamp = steps.stamp("coordinator")
    asked = [flow.plan_what_if(season=run.season, what=what, iterations=PLAN_ROUNDS, stamp=stamp) for what in WHAT_IFS]
    for figures in flow.compare_plans(runs=[run, *(_worked(one) for one in asked)]):
        steps.tell(f"What if    {figures.run.title or 'the plan as it is'}: {_figures(figures)}")


def _figures(shown: PlanFigures) -> str:
    return (
        f"{acres(shown.area_m2):,.1f} ac, {shown.deadlines_met} of {shown.deadlines_owed} seed deadlines met, "
        f"{_dollars(shown.cost_cents)}, {shown.person_hours:,.0f} h, {shown.left_out} left out"
    )


def move_by_hand(steps: Walk) -> None:
    """A visit that the coordinator would rather see on another day: what that breaks, and that it is not done."""
    visit = Visit.objects.filter(state="ordered").select_related("crew", "site").order_by("day", "id")[20]
    steps.tell(f"Why        {visit.crew} at {visit.site} on {visit.day}: {' '.join(visit.because)}")
    sunday = visit.day + timedelta(days=6 - visit.day.weekday())
    for found in flow.move_preview(visit=visit, crew=visit.crew, day=sunday):
        steps.tell(f"           moved to {sunday} it would break: {found.words}")


def plan_again(steps: Walk) -> list[WorkOrder]:
    """A crew falls sick in midsummer; visits were rained off before. The new plan moves as little as it can and is
    taken as a whole. Returns the orders that it drafted."""
    crew = Crew.objects.get(name=SICK_CREW)
    stamp = steps.stamp("coordinator", datetime.combine(SICK_FROM - timedelta(days=1), time(20), tzinfo=UTC))
    absence_add(crew=crew, first_day=SICK_FROM, last_day=SICK_TO, why="All are down with a fever", stamp=stamp)
    season = Season.objects.get()
    run = _worked(flow.plan_again(season=season, iterations=PLAN_ROUNDS, stamp=stamp))
    moved = [row for row in run.moved if row["old_day"] and row["new_day"]]
    steps.tell(
        f"Again      {crew} is sick {SICK_FROM} to {SICK_TO}: {len(moved)} pieces of work move, "
        f"{len(run.left_out)} find no place"
    )
    for row in moved[:2]:
        steps.tell(
            f"           {row['patch']}: {row['old_crew']} {row['old_day']} becomes {row['new_crew']} {row['new_day']}"
        )
    return flow.accept_plan(run=run, stamp=stamp)


def _worked(run: PlanRun) -> PlanRun:
    """As in service: the row is claimed by a worker, in a child process of its own."""
    run_work(str(run.public_id))
    done = plan_run_get(run.public_id)
    if done.state != "done" or done.faults:
        raise Refusal(f"The plan ended {done.state}. {done.error} {done.faults[:3]}")
    return done


def _dollars(cents: int | None) -> str:
    return f"${(cents or 0) / 100:,.0f}"
