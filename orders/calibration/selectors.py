"""Reads of closed orders as evidence, and of calibration runs. Hours and methods, no pay: the office may see them."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any
from uuid import UUID

import numpy as np
from django.db.models import Prefetch, QuerySet

from estimating.calibrate import Part
from estimating.inputs import GROWTH_FORMS
from estimating.spread import season_fit
from orders.calibration.models import CalibrationRun
from orders.common.errors import NotFound, RoleMissing
from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, FINANCE, PESTICIDE_SUPERVISOR
from orders.estimates.models import Estimate
from orders.planning.models import Season, VisitShare
from orders.workorders.models import CloseOut, PatchOutcome, TimeEntry

MEASURED = ("timer", "typed")
SHARED = "allocated"  # a person's part of a drive or a standby: paid hours too, and known where the work beside it is
MINUTES_PER_HOUR = 60
FORM_NOT_KNOWN = "not told"


@dataclass(frozen=True)
class Evidence:
    """A closed order beside its estimates; plain values, so that a run can keep them.

    Crews state paid hours of a visit (drive, walk-in and breaks are in them), so they stand against the estimates'
    paid hours; `actual_hours` is the same in the estimates' field hours: recorded x field / paid. The ratio of actual
    to estimated is the same either way.
    """

    order: str
    order_id: str
    site: str
    crew: str
    work_date: str
    rate_books: list[str]
    crew_kinds: list[str]
    recorded_paid_hours: float
    estimated_paid_hours: float
    estimated_hours: float
    low_hours: float
    high_hours: float
    actual_hours: float
    treated_area_m2: float
    own_log_sd: float
    survey_log_sd: float
    parts: list[dict[str, Any]]

    @property
    def ratio(self) -> float:
        """Actual over estimated hours."""
        return self.actual_hours / self.estimated_hours

    def most(self, name: str) -> str:
        """The method or growth form that most of the estimated hours go to."""
        hours: dict[str, float] = defaultdict(float)
        for part in self.parts:
            hours[part[name]] += part["share"]
        return max(sorted(hours), key=lambda found: hours[found])


@dataclass(frozen=True)
class LeftOut:
    """A closed order that says nothing of the rates, and why."""

    order: str
    order_id: str
    because: str


@dataclass(frozen=True)
class ClosedWork:
    evidence: tuple[Evidence, ...]
    left_out: tuple[LeftOut, ...]


def calibration_open_to(actor: User) -> None:
    if not actor.has_role(COORDINATOR, ADMINISTRATOR, FINANCE, PESTICIDE_SUPERVISOR):
        raise RoleMissing("Calibration and accuracy are open to the office.")


def calibration_changed_by(actor: User) -> None:
    if not actor.has_role(COORDINATOR, ADMINISTRATOR):
        raise RoleMissing("A coordinator asks for calibrations and drafts rate books from them.")


def calibration_runs() -> QuerySet[CalibrationRun]:
    return CalibrationRun.objects.select_related("season", "rate_book", "draft", "asked_by").order_by("-id")


def calibration_run_get(run_id: UUID) -> CalibrationRun:
    found = calibration_runs().filter(public_id=run_id).first()
    if found is None:
        raise NotFound("There is no such calibration.")
    return found


def closed_orders_evidence(season: Season) -> ClosedWork:
    """Every closed order of a season: as evidence, or left out with the reason. By the standing close-outs."""
    shares: dict[int, list[VisitShare]] = defaultdict(list)
    served = VisitShare.objects.filter(visit__order_visit__order__season=season).exclude(visit__state="dropped")
    related = ("visit__order_visit", "prescription__estimate__method", "prescription__estimate__rate_book")
    for share in served.select_related(*related).order_by("visit__day", "visit_id", "prescription_id"):
        shares[share.visit.order_visit.order_id].append(share)
    evidence, left_out = [], []
    for close_out in _close_outs(season):
        found = _evidence(close_out, shares[close_out.order_id])
        if isinstance(found, Evidence):
            evidence.append(found)
        else:
            left_out.append(LeftOut(str(close_out.order.number), str(close_out.order.public_id), found))
    return ClosedWork(tuple(evidence), tuple(left_out))


def _close_outs(season: Season) -> QuerySet[CloseOut]:
    rows = CloseOut.objects.filter(order__season=season, order__state="closed", amended_by__isnull=True)
    return (
        rows.select_related("order__site", "order__crew")
        .prefetch_related(
            Prefetch("time_entries", TimeEntry.objects.order_by("id")),
            Prefetch("outcomes", PatchOutcome.objects.order_by("id")),
        )
        .order_by("order__number")
    )


def _why_not(close_out: CloseOut, estimated_paid_hours: float) -> str:
    """Why an order's hours are no evidence; empty: they are."""
    entries = list(close_out.time_entries.all())
    known = {*MEASURED, SHARED} if any(entry.origin in MEASURED for entry in entries) else set(MEASURED)
    unmeasured = sum(entry.origin not in known for entry in entries)
    if not entries:
        return "Its close-out states no hours."
    if unmeasured:
        return f"{unmeasured} of its {len(entries)} time entries were filled in and never touched."
    if estimated_paid_hours <= 0:
        return "Nothing of what was estimated was done."
    return ""


def _evidence(close_out: CloseOut, shares: list[VisitShare]) -> Evidence | str:
    done = _done(close_out, shares)
    paid = sum(estimate.paid_person_hours * part for estimate, part in done)
    if because := _why_not(close_out, paid):
        return because
    order, recorded = close_out.order, sum(entry.minutes for entry in close_out.time_entries.all()) / MINUTES_PER_HOUR
    likely = [estimate.person_hours * part for estimate, part in done]
    return Evidence(
        order=str(order.number),
        order_id=str(order.public_id),
        site=order.site.code,
        crew=order.crew.name,
        work_date=close_out.work_date.isoformat(),
        rate_books=sorted({str(estimate.rate_book) for estimate, _ in done}),
        crew_kinds=sorted({estimate.rate_book.crew_kind for estimate, _ in done}),
        recorded_paid_hours=recorded,
        estimated_paid_hours=paid,
        estimated_hours=sum(likely),
        actual_hours=recorded * sum(likely) / paid,
        treated_area_m2=sum(estimate.treated_area_m2 * part for estimate, part in done),
        parts=_parts(done),
        **_spread(done, likely),
    )


def _done(close_out: CloseOut, shares: list[VisitShare]) -> list[tuple[Estimate, float]]:
    """The estimates behind an order, each with the part of it that was planned on the order and done."""
    percent = {outcome.prescription_id: outcome.percent_complete for outcome in close_out.outcomes.all()}
    parts: dict[int, float] = defaultdict(float)
    asked = {share.prescription_id: share.prescription for share in shares}
    for share in shares:
        parts[share.prescription_id] += share.share
    return [
        (prescription.estimate, part)
        for key, prescription in asked.items()
        if (part := prescription.share_left * parts[key] * percent.get(key, 0) / 100) > 0
    ]


def _survey_log_sd(estimate: Estimate) -> float:
    """The survey's part of the estimate's own spread, as its explanation keeps it."""
    told = estimate.result.get("field_person_hours", {})
    return float(told.get("survey_log_sd") or 0.0) if isinstance(told, dict) else 0.0


def _spread(done: list[tuple[Estimate, float]], likely: list[float]) -> dict[str, float]:
    """Low and high of the order's hours, with the error that a method's estimates share; and its own log spreads."""
    hours, own, shared = np.array(likely), *(_column(done, name) for name in ("own_log_sd", "shared_log_sd"))
    group = np.array([estimate.method_id for estimate, _ in done], dtype=np.int64)
    fit = season_fit(hours, own, shared, group)
    survey = np.array([_survey_log_sd(estimate) for estimate, _ in done])
    alone = np.sqrt(np.maximum(own**2 - survey**2, 0.0))
    by_hours = hours / hours.sum()
    return {
        "low_hours": fit.low,
        "high_hours": fit.high,
        "own_log_sd": float(by_hours @ alone),
        "survey_log_sd": float(by_hours @ survey),
    }


def _column(done: list[tuple[Estimate, float]], name: str) -> Any:
    return np.array([float(getattr(estimate, name)) for estimate, _ in done])


def _parts(done: list[tuple[Estimate, float]]) -> list[dict[str, Any]]:
    """Shares of the order's estimated hours by method and growth form."""
    hours: dict[tuple[str, str], float] = defaultdict(float)
    for estimate, part in done:
        for form, share in _form_shares(estimate).items():
            hours[estimate.method.code, form] += share * estimate.person_hours * part
    total = sum(hours.values())
    return [asdict(Part(method, form, amount / total)) for (method, form), amount in sorted(hours.items())]


def _form_shares(estimate: Estimate) -> Mapping[str, float]:
    """Shares of an estimate's hours by growth form: by the steps that name one; else by area."""
    hours: dict[str, float] = defaultdict(float)
    for step in estimate.result.get("steps", []):
        for part in step.get("parts", []):
            if part.get("growth_form"):
                hours[part["growth_form"]] += float(part.get("hours") or 0.0)
    if not sum(hours.values()):
        for component in estimate.inputs.get("components", []):
            hours[GROWTH_FORMS[component["growth_form"]]] += float(component["infested_area_m2"])
    total = sum(hours.values())
    return {form: amount / total for form, amount in hours.items()} if total else {FORM_NOT_KNOWN: 1.0}
