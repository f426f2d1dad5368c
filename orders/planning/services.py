"""Writes of the season: seasons, prescriptions, plan runs and the visits that come of them."""

from collections.abc import Sequence
from datetime import date
from typing import Any
from uuid import UUID

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.runs import run_wake
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Crew
from orders.estimates.models import Estimate
from orders.planning.models import PlanRun, Prescription, Season, Visit
from orders.planning.selectors import LEAST_SHARE, follow_ups_open, plan_in_force, share_unplanned
from orders.planning.what_if import WhatIf
from orders.planning.worth import BUDGET_LEVELS


class PlanOutOfDate(WrongState):
    """Something that the plan was made from has changed since."""

    code = "plan_out_of_date"
    title = "The plan is out of date"


class PlanFaulty(WrongState):
    """The independent check found that the plan breaks a constraint."""

    code = "plan_faulty"
    title = "The plan has faults"


@writing()
def season_add(
    *,
    name: str,
    first_day: date,
    last_day: date,
    budget_cents: int | None = None,
    level: str = "likely",
    stamp: Stamp,
) -> Season:
    """`level`: how sure one wants to be that its budgets last, by name."""
    if last_day <= first_day:
        raise Invalid("The season ends before it begins.", [FieldError("last_day", "must be after first_day")])
    if Season.objects.filter(name=name).exists():
        raise Invalid("There is a season of this name.", [FieldError("name", f"{name} is taken", code="unique")])
    known = {"first_day": first_day, "last_day": last_day, "budget_cents": budget_cents}
    season = Season.objects.create(name=name, budget_level=BUDGET_LEVELS[level], **known)
    change_record(stamp=stamp, verb="season_add", entity=season, after={"name": name})
    return season


@writing()
def prescription_add(
    *,
    season: Season,
    estimate: Estimate,
    first_day: date,
    last_day: date,
    window_because: str,
    why: str,
    is_own_choice: bool = False,
    stamp: Stamp,
    **more: Any,
) -> Prescription:
    """Ask for an estimated method on a patch within a window of days. `more`: origin, follows, share_left, fund,
    seed_due_on, and of a follow-up its rule, purpose and lags."""
    patch = estimate.survey.patch
    _window_check(season, first_day, last_day)
    _survey_stands(estimate)
    if more.get("origin", "survey") == "survey":
        _not_asked_twice(season, estimate)
    prescription = Prescription.objects.create(
        season=season,
        patch=patch,
        method=estimate.method,
        estimate=estimate,
        first_day=max(first_day, season.first_day),
        last_day=min(last_day, season.last_day),
        window_because=window_because,
        why=why,
        is_own_choice=is_own_choice,
        **more,
    )
    after = {"patch": str(patch), "method": estimate.method.code, "why": why}
    change_record(stamp=stamp, verb="prescription_add", entity=prescription, after=after)
    return prescription


def _survey_stands(estimate: Estimate) -> None:
    if estimate.survey.voided_at is not None:
        detail = f"The survey of {estimate.survey} was voided: {estimate.survey.void_reason}"
        raise Invalid(detail, [FieldError("estimate", "rests on a voided survey", code="voided")])
    if (patch := estimate.survey.patch).ended_on is not None:
        detail = f"{patch} ended on {patch.ended_on}: it was split or merged."
        raise Invalid(detail, [FieldError("estimate", "is of a patch that ended", code="patch_ended")])


def _window_check(season: Season, first_day: date, last_day: date) -> None:
    if last_day < first_day:
        raise Invalid("The window ends before it begins.", [FieldError("last_day", "must not be before first_day")])
    if last_day < season.first_day or first_day > season.last_day:
        raise Invalid("The window lies outside the season.", [FieldError("first_day", f"not within {season.name}")])


def _not_asked_twice(season: Season, estimate: Estimate) -> None:
    standing = Prescription.objects.filter(season=season, patch=estimate.survey.patch, method=estimate.method)
    if standing.exclude(state__in=["done", "dropped"]).exclude(origin="follow_up").exists():
        detail = f"{estimate.survey.patch} already has {estimate.method.name} asked for in {season.name}."
        raise Invalid(detail, [FieldError("estimate", "already prescribed", code="unique")])


@writing()
def prescription_drop(*, prescription: Prescription, stamp: Stamp, expected_version: int | None = None) -> Prescription:
    if prescription.state not in {"open", "planned"}:
        raise WrongState(f"{prescription} is {prescription.get_state_display().lower()} and cannot be dropped.")
    if not stamp.reason:
        raise Invalid("Say why it is dropped.", [FieldError("reason", "is required", code="required")])
    before = version_bump(prescription, expected=expected_version, state="dropped")
    change_record(stamp=stamp, verb="prescription_drop", entity=prescription, before=before, after={"state": "dropped"})
    for row in follow_ups_open([prescription]):
        prescription_drop(prescription=row, stamp=stamp.because(f"{prescription} was dropped: {stamp.reason}"))
    return prescription


@writing()
def plan_ask(
    *,
    season: Season,
    purpose: str = "plan",
    what: WhatIf | None = None,
    iterations: int = 0,
    exact_work: float = 0.0,
    seed: int = 0,
    stamp: Stamp,
    public_id: UUID | None = None,
) -> PlanRun:
    """Ask for a plan: the row is the job; a worker is woken after the commit. `what`: what a what-if assumes."""
    if exact_work < 0:
        raise Invalid("The work of the exact solver is an amount.", [FieldError("exact_work", "must be 0 or more")])
    if what is not None:
        what.check()
    named = {} if public_id is None else {"public_id": public_id}
    run = PlanRun.objects.create(
        season=season,
        purpose=purpose,
        based_on=None if purpose == "plan" else plan_in_force(season),
        changes=what.as_json() if what else {},
        title=what.words() if what else "",
        iterations=iterations,
        exact_work=exact_work,
        seed=seed,
        asked_by=stamp.by,
        asked_at=stamp.at,
        **named,
    )
    after = {"season": season.name, "purpose": purpose, "iterations": iterations, "title": run.title}
    change_record(stamp=stamp, verb="plan_ask", entity=run, after=after)
    run_wake(run)
    return run


@writing()
def plan_accept(*, run: PlanRun, fingerprint: str, stamp: Stamp) -> list[Visit]:
    """Take a finished plan: its visits become the plan; other proposals fall away. `fingerprint` is of the present
    inputs: a plan made from others is refused."""
    plan_take(run, fingerprint, stamp)
    _proposals_drop(run)
    visits = list(run.visits.filter(state="proposed").order_by("day", "id"))
    for visit in visits:
        version_bump(visit, expected=None, state="planned")
    states_follow(run.season)
    change_record(stamp=stamp, verb="plan_accept", entity=run, after={"visits": len(visits)})
    return visits


def plan_take(run: PlanRun, fingerprint: str, stamp: Stamp) -> None:
    """The checks of an acceptance, and its compare-and-set."""
    if run.purpose == "what_if":
        raise WrongState("A what-if is only looked at; ask for a plan to accept one.")
    if run.state != "done" or run.accepted_at is not None or run.dropped_at is not None:
        raise WrongState("Only a finished plan that was not accepted or dropped before can be accepted.")
    if run.faults:
        errors = [FieldError("faults", text) for text in run.faults[:20]]
        raise PlanFaulty("The check of this plan found faults. Ask for a new one.", errors)
    if run.inputs_fingerprint != fingerprint:
        raise PlanOutOfDate("Prescriptions, crews or closures changed after this plan was made. Ask for a new one.")
    free = PlanRun.objects.filter(pk=run.pk, accepted_at__isnull=True, dropped_at__isnull=True)
    if not free.update(accepted_at=stamp.at):
        raise WrongState("This plan was accepted or dropped by somebody else just now.")
    run.accepted_at = stamp.at


@writing()
def plan_drop(*, run: PlanRun, stamp: Stamp) -> PlanRun:
    """Set a finished plan aside: its proposals fall away, and nothing else changes."""
    free = PlanRun.objects.filter(pk=run.pk, state="done", accepted_at__isnull=True, dropped_at__isnull=True)
    if not free.update(dropped_at=stamp.at):
        raise WrongState("Only a finished plan that was not accepted or dropped before can be dropped.")
    run.dropped_at = stamp.at
    run.visits.filter(state="proposed").update(state="dropped")
    change_record(stamp=stamp, verb="plan_drop", entity=run, after={"purpose": run.purpose})
    return run


def states_follow(season: Season) -> None:
    """Open and planned say whether a standing plan serves a prescription, whichever way the new plan decided."""
    served = Prescription.objects.filter(season=season, visit_shares__visit__state="planned").distinct()
    for prescription in served.filter(state="open"):
        version_bump(prescription, expected=None, state="planned")
    stranded = Prescription.objects.filter(season=season, state="planned").exclude(pk__in=served.values("pk"))
    for prescription in stranded:
        version_bump(prescription, expected=None, state="open")


def _proposals_drop(run: PlanRun) -> None:
    """Proposals of other runs, and what an earlier accepted plan had not yet put on an order; what was kept by hand
    stays."""
    others = Visit.objects.filter(season=run.season).exclude(plan_run=run)
    others.filter(state="proposed").update(state="dropped")
    others.filter(state="planned", is_kept=False, order_visit__isnull=True).update(state="dropped")


@writing()
def visit_move(
    *,
    visit: Visit,
    day: date,
    because: Sequence[str],
    crew: Crew | None = None,
    keep: bool | None = None,
    breaks: Sequence[str] = (),
    stamp: Stamp,
) -> Visit:
    """Another day, or another crew's, for a visit that was not done, and why. `keep`: whether new plans leave it there
    (None: as it was). What the move breaks is kept in the record."""
    if visit.state not in {"planned", "ordered"}:
        raise WrongState(f"The visit is {visit.get_state_display().lower()}; it cannot be moved.")
    values: dict[str, Any] = {"day": day, "crew": crew or visit.crew, "because": list(because)}
    if keep is not None:
        values |= {"is_kept": keep, "kept_because": stamp.reason[:200] if keep else ""}
    before = version_bump(visit, expected=None, **values)
    change_record(
        stamp=stamp,
        verb="visit_move",
        entity=visit,
        before={"day": str(before["day"]), "crew": str(before["crew"])},
        after={"day": str(day), "crew": str(values["crew"]), "breaks": list(breaks)},
    )
    return visit


@writing()
def visit_put_free(*, visit: Visit, stamp: Stamp) -> Visit:
    """A new plan may move it again."""
    if not visit.is_kept:
        raise WrongState("The visit is not kept where it is; plans may move it already.")
    before = version_bump(visit, expected=None, is_kept=False, kept_because="")
    change_record(stamp=stamp, verb="visit_put_free", entity=visit, before=before, after={"is_kept": False})
    return visit


@writing()
def visit_settle(*, visit: Visit, state: str, stamp: Stamp, not_done_reason: str = "") -> Visit:
    """Say what became of a visit: ordered, done, not done (with the reason), dropped."""
    if state == "not_done" and not not_done_reason:
        raise Invalid("Say why the visit was not done.", [FieldError("reason", "is required", code="required")])
    before = version_bump(visit, expected=None, state=state, not_done_reason=not_done_reason)
    after = {"state": state, "not_done_reason": not_done_reason}
    audience = [visit.crew.public_id]
    change_record(stamp=stamp, verb="visit_settle", entity=visit, before=before, after=after, audience=audience)
    return visit


@writing()
def prescription_reopen(*, prescription: Prescription, stamp: Stamp) -> Prescription:
    """After a void: what no standing visit serves is demand again."""
    state = "open" if share_unplanned(prescription) > 1 - LEAST_SHARE else "ordered"
    before = version_bump(prescription, expected=None, state=state)
    change_record(stamp=stamp, verb="prescription_reopen", entity=prescription, before=before, after={"state": state})
    return prescription
