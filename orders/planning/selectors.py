"""Reads of the season's demand and its plan. Each takes the actor where an interface calls it."""

from datetime import date
from uuid import UUID

from django.db.models import Prefetch, QuerySet, Sum

from orders.common.errors import NotFound
from orders.planning.models import PlanRun, Prescription, Season, Visit, VisitShare
from orders.sites.models import Survey


def seasons() -> QuerySet[Season]:
    return Season.objects.order_by("-first_day", "id")


def season_get(season_id: UUID) -> Season:
    found = Season.objects.filter(public_id=season_id).first()
    if found is None:
        raise NotFound("There is no such season.")
    return found


def season_of(day: date) -> Season:
    found = Season.objects.filter(first_day__lte=day, last_day__gte=day).order_by("-first_day").first()
    if found is None:
        raise NotFound(f"No season holds {day}.")
    return found


def prescriptions(season: Season | None = None) -> QuerySet[Prescription]:
    rows = Prescription.objects.select_related(
        "patch__site__jurisdiction", "method__qualification", "estimate__survey", "season"
    )
    rows = rows if season is None else rows.filter(season=season)
    return rows.order_by("season_id", "patch_id", "id")


def prescription_get(prescription_id: UUID) -> Prescription:
    found = prescriptions().filter(public_id=prescription_id).first()
    if found is None:
        raise NotFound("There is no such prescription.")
    return found


LEAST_SHARE = 0.001  # less of a prescription than this is nothing; shares are sums of fractions


def share_unplanned(prescription: Prescription) -> float:
    """How much of a prescription no standing visit serves yet, 0 to 1. A visit called off still stands: the close-out
    of its order says what became of its part."""
    standing = VisitShare.objects.filter(prescription=prescription).exclude(visit__state__in=["proposed", "dropped"])
    return max(0.0, 1.0 - (standing.aggregate(total=Sum("share"))["total"] or 0.0))


def visits(season: Season | None = None) -> QuerySet[Visit]:
    shares = VisitShare.objects.select_related("prescription__patch", "prescription__method").order_by("id")
    rows = Visit.objects.select_related("crew", "site", "season").prefetch_related(Prefetch("shares", queryset=shares))
    rows = rows if season is None else rows.filter(season=season)
    return rows.order_by("day", "crew_id", "id")


def visits_unordered(season: Season) -> QuerySet[Visit]:
    return visits(season).filter(state="planned", order_visit__isnull=True)


def plan_run_get(run_id: UUID) -> PlanRun:
    found = PlanRun.objects.select_related("season").filter(public_id=run_id).first()
    if found is None:
        raise NotFound("There is no such plan run.")
    return found


def visit_hours(visit: Visit) -> float:
    return sum(share.planned_hours for share in visit.shares.all())


def visits_fixed(season: Season) -> QuerySet[Visit]:
    """What a new plan must leave where it is: visits on an order, and days already worked."""
    return visits(season).filter(state__in=["ordered", "done"])


def surveys_prescribed(surveys: QuerySet[Survey]) -> QuerySet[Survey]:
    """Those of the surveys whose estimates a prescription uses, dropped ones left out: they must stand."""
    used = Prescription.objects.exclude(state="dropped").values("estimate__survey")
    return surveys.filter(pk__in=used)


def plan_runs() -> QuerySet[PlanRun]:
    return PlanRun.objects.select_related("season", "asked_by").order_by("-id")


def season_by_name(name: str) -> Season:
    found = Season.objects.filter(name=name).first()
    if found is None:
        raise NotFound(f"There is no season {name}.")
    return found
