"""A season of a few prescriptions whose hours are known: one crew-day of three people at a site is 1.0."""

from datetime import date

from orders import flow
from orders.estimates.selectors import rate_book_in_force
from orders.planning.models import PlanRun, Visit
from orders.workorders.models import WorkOrder
from tests import build
from tests.flow.world import World, run_now

MONDAY = date(2027, 3, 1)
FRIDAY = date(2027, 3, 5)


def asked(world: World, code: str, crew_days: float = 1.0, **facts):
    """A prescription for a new patch of the world's site; `estimate__…` and the rest as its factory takes them."""
    facts = {
        "first_day": MONDAY,
        "last_day": FRIDAY,
        "estimate__total_cents": 80_000,
        "estimate__rate_book": rate_book_in_force(),
        **facts,
    }
    patch = facts.pop("patch", None) or build.PatchFactory(site=facts.pop("site", world.patch.site), code=code)
    method = facts.pop("method", None) or build.MethodFactory(code="cut")
    return build.PrescriptionFactory(
        season=world.season, patch=patch, estimate__crew_days=crew_days, estimate__method=method, **facts
    )


def other_crew(name: str = "Ridge crew", people: int = 3, **facts):
    crew = build.CrewFactory(name=name, people=0, **facts)
    for _ in range(people):
        person = build.PersonFactory(role=build.LaborRoleFactory(code="crew-member"))
        build.CrewMembershipFactory(crew=crew, person=person, first_day=date(2026, 1, 1))
    return crew


def planned(world: World, **how) -> PlanRun:
    return run_now(flow.plan_season(season=world.season, stamp=world.stamp(), **how))


def replanned(world: World, **how) -> PlanRun:
    return run_now(flow.plan_again(season=world.season, stamp=world.stamp(), **how))


def accepted(world: World, **how) -> list[WorkOrder]:
    return flow.accept_plan(run=planned(world, **how), stamp=world.stamp())


def days_of(run: PlanRun) -> list[date]:
    return sorted(visit.day for visit in run.visits.all())


def standing() -> list[tuple[str, date, str]]:
    """Standing visits by patch: (patch, day, crew)."""
    rows = Visit.objects.filter(state__in=["planned", "ordered", "done"])
    return sorted(
        (share.prescription.patch.code, visit.day, visit.crew.name) for visit in rows for share in visit.shares.all()
    )
