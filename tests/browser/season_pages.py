"""Pages of a season on its days: calendar, plans, board, visits and settings, in the states that look different."""

from datetime import date, timedelta

from orders.planning.models import ChainRule, SeasonFund
from tests import build
from tests.desk.pages.planned import LEFT_OUT, Planned, moved, plan_done, planned, proposed

PURPOSES = ("regrowth", "check", "again")


def wide() -> Planned:
    """More sites and weeks, so that lanes, loads and costs look as they do in a season."""
    made = planned()
    for number in range(14):
        site = made.sites[number % 2] if number % 3 else build.SiteFactory(name=f"Preserve {number}")
        asked = build.PrescriptionFactory(
            season=made.season,
            patch=build.PatchFactory(site=site, code=f"Q{number}"),
            state="planned" if number % 4 else "open",
            first_day=date(2027, 1 + number % 9, 4),
            last_day=date(2027, 3 + number % 9, 20),
            seed_due_on=date(2027, 8, 4 + number) if number % 5 == 0 else None,
            follows=made.asked[0] if number == 1 else None,
        )
        build.ClosureFactory(site=site, first_day=date(2027, 5, 1), last_day=date(2027, 5, 9))
        if number % 4:
            build.VisitFactory(
                season=made.season,
                crew=made.crews[number % 2],
                site=site,
                day=date(2027, 2, 8) + timedelta(days=16 * number + (number == 4)),
                prescriptions=[asked],
                is_kept=number == 5,
            )
    return made


def of(made: Planned, page: str) -> str:
    return f"/seasons/{made.season.public_id}/{page}"


def calendar() -> str:
    return of(wide(), "calendar/")


def calendar_patches() -> str:
    return of(wide(), "calendar/?by=patch&site=OXBOW")


def calendar_crews() -> str:
    return of(wide(), "calendar/?by=crew&month=2027-02")


def calendar_empty() -> str:
    return f"/seasons/{build.SeasonFactory(name='Summer 2028').public_id}/calendar/"


def load() -> str:
    made = wide()
    made.visits[2].shares.update(planned_hours=150)
    return of(made, "calendar/?show=load")


def cost() -> str:
    return of(wide(), "calendar/?show=cost")


def plans() -> str:
    made = wide()
    plan_done(made.season, title="Before the thaw", accepted_at=build.NOW)
    plan_done(made.season, purpose="what_if", title="1 more crew, 10% less money")
    plan_done(made.season, faults=["A visit lies outside its window."], was_stopped=True)
    build.PlanRunFactory(season=made.season, state="running")
    build.PlanRunFactory(season=made.season, state="failed", error="NotFound: No rate book is in force.")
    return of(made, "plans/")


def plans_empty() -> str:
    return f"/seasons/{build.SeasonFactory(name='Summer 2028').public_id}/plans/"


def compare() -> str:
    made = planned()
    first = plan_done(made.season, title="As it is")
    figures = {**first.figures, "cost_cents": 5_212_377, "deadlines_met": 14, "area_m2": 53_000.0, "left_out": 1}
    other = plan_done(made.season, purpose="what_if", title="1 more crew, like the Hollow crew", figures=figures)
    return of(made, f"plans/compare/?run={first.public_id}&run={other.public_id}")


def plan() -> str:
    made = wide()
    left_out = [
        {**LEFT_OUT, "patch": f"OXBOW P{n}", "constraint": ("license", "money", "window")[n % 3]} for n in range(30)
    ]
    run = plan_done(made.season, title="After the rain", purpose="replan", moved=moved(made), left_out=left_out)
    proposed(run, made)
    return f"/plans/{run.public_id}/"


def plan_faulty() -> str:
    made = planned()
    run = plan_done(made.season, faults=["OXBOW P7 lies outside its window."], bound_cents=None, left_out=[], course=[])
    return f"/plans/{run.public_id}/"


def plan_at_work() -> str:
    more = {"progress_done": 412, "progress_total": 20_000, "lost_cents": 8_100_000, "start_lost_cents": 9_400_000}
    run = build.PlanRunFactory(season=build.SeasonFactory(), state="running", **more)
    return f"/plans/{run.public_id}/"


def plan_accept() -> str:
    made = planned()
    run = plan_done(made.season, purpose="replan", moved=moved(made))
    proposed(run, made)
    return f"/plans/{run.public_id}/accept/"


def board() -> str:
    made = wide()
    build.AbsenceFactory(crew=made.crews[0], first_day=date(2027, 2, 10), last_day=date(2027, 2, 10))
    return of(made, "board/?week=2027-02-08")


def visit() -> str:
    made = planned()
    made.visits[1].is_kept, made.visits[1].kept_because = True, "The owner opens the gate that day."
    made.visits[1].save()
    return f"/visits/{made.visits[1].public_id}/"


def visit_move() -> str:
    return f"/visits/{planned().visits[2].public_id}/move/"


def settings() -> str:
    made = planned()
    fund = {"season": made.season, "budget_cents": 3_200_000}
    SeasonFund.objects.create(**fund, code="CITY", name="City operations")
    grant = SeasonFund.objects.create(**fund, code="GRANT", name="Seed source grant", last_day=date(2027, 6, 30))
    grant.sites.set([made.sites[0]])
    for number, purpose in enumerate(PURPOSES):
        ChainRule.objects.create(
            code=f"rule-{number}",
            after=build.MethodFactory(code="cut"),
            method=build.MethodFactory(code="monitor"),
            purpose=purpose,
            least_days=60,
            most_days=180,
            share=0.4,
            source="invented",
        )
    return of(made, "settings/")


def fund() -> str:
    made = planned()
    row = SeasonFund.objects.create(season=made.season, code="CITY", name="City operations", budget_cents=3_200_000)
    return of(made, f"funds/{row.public_id}/")


STATES = {
    "season-calendar": calendar,
    "season-calendar-patches": calendar_patches,
    "season-calendar-crews": calendar_crews,
    "season-calendar-empty": calendar_empty,
    "season-load": load,
    "season-cost": cost,
    "plans": plans,
    "plans-empty": plans_empty,
    "plan-compare": compare,
    "plan": plan,
    "plan-faulty": plan_faulty,
    "plan-at-work": plan_at_work,
    "plan-accept": plan_accept,
    "board": board,
    "visit": visit,
    "visit-move": visit_move,
    "season-settings": settings,
    "season-fund": fund,
}
