"""Reads of the season's demand and its plan. Each takes the actor where an interface calls it."""

from collections.abc import Iterable, Sequence
from datetime import date
from uuid import UUID

from django.db.models import Prefetch, QuerySet, Sum

from orders.common.errors import FieldError, Invalid, NotFound
from orders.estimates.models import Estimate
from orders.estimates.selectors import estimates
from orders.planning.models import ChoiceBatch, ChoicePart, PlanRun, Prescription, Season, Visit, VisitShare
from orders.sites.models import Patch, Survey
from orders.sites.selectors import patches


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


def plan_run_get(run_id: UUID) -> PlanRun:
    found = PlanRun.objects.select_related("season").filter(public_id=run_id).first()
    if found is None:
        raise NotFound("There is no such plan run.")
    return found


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


# Of an estimate all but what made it: for lists, sums and choices.
HEAVY = ("inputs", "result", "products_ul", "survey__geometry", "survey__patch__site__boundary")
STANDING = ("open", "planned", "ordered", "done")


def estimates_by_method(surveys: Iterable[Survey], crew_kind: str = "staff") -> dict[tuple[int, str], Estimate]:
    """The newest estimate by survey and method for one kind of crew, without its inputs and explanation."""
    rows = estimates().filter(survey__in=list(surveys), rate_book__crew_kind=crew_kind).defer(*HEAVY)
    return {(estimate.survey_id, estimate.method.code): estimate for estimate in rows.order_by("id")}


def prescriptions_standing(season: Season) -> QuerySet[Prescription]:
    """What is asked for in a season, dropped ones left out, light enough for lists and sums."""
    heavy = [f"estimate__{name}" for name in HEAVY if not name.startswith("survey__patch")]
    return prescriptions(season).filter(state__in=STANDING).defer(*heavy, "patch__site__boundary")


def choice_batches(season: Season | None = None) -> QuerySet[ChoiceBatch]:
    """Bulk choices, the newest first, each with what it made and dropped."""
    parts = ChoicePart.objects.select_related(
        "prescription__patch__site", "prescription__method", "prescription__estimate"
    )
    heavy = [f"prescription__estimate__{name}" for name in ("inputs", "result", "products_ul")]
    parts = parts.defer(*heavy, "prescription__patch__site__boundary").order_by("id")
    rows = ChoiceBatch.objects.select_related("season", "method", "made_by", "undone_by")
    rows = rows.prefetch_related(Prefetch("parts", queryset=parts))
    rows = rows if season is None else rows.filter(season=season)
    return rows.order_by("-id")


def choice_batch_get(batch_id: UUID) -> ChoiceBatch:
    found = choice_batches().filter(public_id=batch_id).first()
    if found is None:
        raise NotFound("There is no such choice.")
    return found


def patches_named(patch_ids: Sequence[UUID]) -> list[Patch]:
    """The patches of these ids; one that is not there is named."""
    found = {patch.public_id: patch for patch in patches().filter(public_id__in=patch_ids)}
    missing = [number for number, patch_id in enumerate(patch_ids) if patch_id not in found]
    if missing:
        errors = [FieldError(f"patches[{number}]", "is no patch") for number in missing]
        raise Invalid("Not all of these patches are there.", errors)
    return [found[patch_id] for patch_id in dict.fromkeys(patch_ids)]
