"""Reads of the season's demand and its plan. Each takes the actor where an interface calls it."""

from collections.abc import Iterable, Sequence, Set
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Case, Count, Exists, F, OuterRef, Prefetch, QuerySet, Subquery, Sum, Value, When
from django.db.models.functions import Coalesce

from orders.common.errors import FieldError, Invalid, NotFound
from orders.estimates.models import Estimate
from orders.estimates.selectors import estimates
from orders.planning.models import (
    ChainRule,
    ChoiceBatch,
    ChoicePart,
    PlanRun,
    Prescription,
    Season,
    SeasonFund,
    Visit,
    VisitShare,
)
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


def season_near(day: date) -> Season:
    """The season that holds the day, or else the nearest one; of equals the later."""
    found = sorted(Season.objects.order_by("-first_day", "id"), key=lambda season: season.days_from(day))
    if not found:
        raise NotFound("There is no season yet.")
    return found[0]


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


def plan_in_force(season: Season) -> PlanRun | None:
    """The plan that was accepted last."""
    accepted = PlanRun.objects.filter(season=season, accepted_at__isnull=False)
    return accepted.order_by("-accepted_at", "-id").first()


def surveys_prescribed(surveys: QuerySet[Survey]) -> QuerySet[Survey]:
    """Those of the surveys whose estimates a prescription uses, dropped ones left out: they must stand."""
    used = Prescription.objects.exclude(state="dropped").values("estimate__survey")
    return surveys.filter(pk__in=used)


def plan_runs() -> QuerySet[PlanRun]:
    return PlanRun.objects.select_related("season", "asked_by").order_by("-id")


def plan_runs_named(run_ids: Sequence[UUID]) -> list[PlanRun]:
    """The runs of these ids, in their order."""
    found = {run.public_id: run for run in plan_runs().filter(public_id__in=run_ids)}
    if missing := [str(run_id) for run_id in run_ids if run_id not in found]:
        raise NotFound(f"There is no plan run {', '.join(missing)}.")
    return [found[run_id] for run_id in run_ids]


def season_by_name(name: str) -> Season:
    found = Season.objects.filter(name=name).first()
    if found is None:
        raise NotFound(f"There is no season {name}.")
    return found


# Of an estimate all but what made it: for lists, sums and choices.
HEAVY = (
    *("inputs", "result", "products_ul", "form_shares"),
    *("survey__geometry", "survey__patch_said", "survey__patch__site__boundary"),
)
STANDING = ("open", "planned", "ordered", "done")


def estimates_by_method(surveys: Iterable[Survey], crew_kind: str = "staff") -> dict[tuple[int, str], Estimate]:
    """The newest estimate by survey and method for one kind of crew, without its inputs and explanation."""
    rows = estimates().filter(survey__in=list(surveys), rate_book__crew_kind=crew_kind).defer(*HEAVY)
    return {(estimate.survey_id, estimate.method.code): estimate for estimate in rows.order_by("id")}


def estimates_wanted(wanted: Set[tuple[int, str]], crew_kind: str = "staff") -> dict[tuple[int, str], Estimate]:
    """The newest estimate of each survey and method named, and of no other: of thousands of patches each has only the
    one that is asked about."""
    rows = Estimate.objects.filter(
        survey__in={survey for survey, _ in wanted},
        method__code__in={code for _, code in wanted},
        rate_book__crew_kind=crew_kind,
    )
    newest = {
        (survey, code): key for key, survey, code in rows.order_by("id").values_list("pk", "survey", "method__code")
    }
    keys = [key for pair, key in newest.items() if pair in wanted]
    found = estimates().filter(pk__in=keys).defer(*HEAVY)
    return {(row.survey_id, row.method.code): row for row in found}


def prescriptions_standing(season: Season) -> QuerySet[Prescription]:
    """What is asked for in a season, dropped ones left out, light enough for lists and sums."""
    heavy = [f"estimate__{name}" for name in HEAVY if not name.startswith("survey__patch")]
    return prescriptions(season).filter(state__in=STANDING).defer(*heavy, "patch__site__boundary")


def prescriptions_asked(season: Season) -> QuerySet[Prescription]:
    """What a plan is asked for. One that is on an order is, too: a part that found no place is still wanted."""
    asked = prescriptions_standing(season).filter(state__in=["open", "planned", "ordered"])
    return asked.select_related("fund", "follows__patch")


def follow_ups_open(firsts: Iterable[Prescription]) -> QuerySet[Prescription]:
    """What follows these in chains and is on no order."""
    rows = prescriptions().filter(origin="follow_up", follows__in=list(firsts), state__in=["open", "planned"])
    return rows.order_by("id")


def season_funds_listed() -> QuerySet[SeasonFund]:
    """Funds of all seasons, each with its sites."""
    return SeasonFund.objects.select_related("season").prefetch_related("sites").order_by("season_id", "code")


def season_fund_get(fund_id: UUID) -> SeasonFund:
    found = season_funds_listed().filter(public_id=fund_id).first()
    if found is None:
        raise NotFound("There is no such fund in a season.")
    return found


def chain_rules() -> QuerySet[ChainRule]:
    return ChainRule.objects.select_related("after", "method").order_by("code")


def chain_rule_get(rule_id: UUID) -> ChainRule:
    found = chain_rules().filter(public_id=rule_id).first()
    if found is None:
        raise NotFound("There is no such chain rule.")
    return found


def choice_batches() -> QuerySet[ChoiceBatch]:
    """Bulk choices, the newest first, without what each did: that may be thousands of parts. `what` says what one
    chose, and of several methods names none."""
    parts = ChoicePart.objects.filter(batch=OuterRef("pk")).order_by()
    made = parts.filter(act="made")
    what = Case(
        When(method__isnull=False, then=F("method__name")),
        When(~Exists(made), then=Value("nothing in place of what was chosen")),
        When(Exists(made.filter(prescription__is_own_choice=True)), then=Value("several methods")),
        default=Value("recommended methods"),
    )
    counted = parts.values("batch").annotate(count=Count("pk")).values("count")
    rows = ChoiceBatch.objects.select_related("season", "method", "made_by", "undone_by")
    return rows.annotate(what=what, parts_count=Coalesce(Subquery(counted), 0)).order_by("-id")


def choice_batches_whole() -> QuerySet[ChoiceBatch]:
    """The same, each with what it made and dropped."""
    return choice_batches().prefetch_related(Prefetch("parts", queryset=choice_parts()))


def choice_parts() -> QuerySet[ChoicePart]:
    parts = ChoicePart.objects.select_related(
        "prescription__patch__site", "prescription__method", "prescription__estimate"
    )
    heavy = [f"prescription__estimate__{name}" for name in ("inputs", "result", "products_ul")]
    return parts.defer(*heavy, "prescription__patch__site__boundary").order_by("id")


def choice_batch_get(batch_id: UUID) -> ChoiceBatch:
    return _choice_in(choice_batches(), batch_id)


def choice_batch_whole(batch_id: UUID) -> ChoiceBatch:
    return _choice_in(choice_batches_whole(), batch_id)


def _choice_in(rows: QuerySet[ChoiceBatch], batch_id: UUID) -> ChoiceBatch:
    found = rows.filter(public_id=batch_id).first()
    if found is None:
        raise NotFound("There is no such choice.")
    return found


def patches_keyed(keys: Iterable[Any]) -> QuerySet[Patch]:
    """The patches of these keys, or of a query of them, by site and code, without the outline of a site."""
    rows = Patch.objects.filter(pk__in=keys).select_related("site").defer("site__boundary")
    return rows.order_by("site__code", "code")


def patches_named(patch_ids: Sequence[UUID]) -> list[Patch]:
    """The patches of these ids; one that is not there is named."""
    rows = patches().filter(public_id__in=patch_ids).defer("site__boundary")
    found = {patch.public_id: patch for patch in rows}
    missing = [number for number, patch_id in enumerate(patch_ids) if patch_id not in found]
    if missing:
        errors = [FieldError(f"patches[{number}]", "is no patch") for number in missing]
        raise Invalid("Not all of these patches are there.", errors)
    return [found[patch_id] for patch_id in dict.fromkeys(patch_ids)]
