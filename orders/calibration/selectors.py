"""Reads of closed orders as evidence, and of calibration runs. Hours and methods, no pay: the office may see them."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple
from uuid import UUID

import numpy as np
from django.db.models import Count, QuerySet, Sum

from estimating.spread import totals_fit
from orders.calibration.models import CalibrationRun
from orders.common.errors import NotFound, RoleMissing
from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, FINANCE, PESTICIDE_SUPERVISOR
from orders.estimates.models import RateBook
from orders.planning.models import Prescription, Season, VisitShare
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


class _Done(NamedTuple):
    """The figures of an estimate behind an order, and the part of it that was planned on the order and done."""

    part: float
    method: str
    method_id: int
    rate_book: int
    hours: float
    paid_hours: float
    area_m2: float
    own_log_sd: float
    shared_log_sd: float
    survey_log_sd: float
    form_shares: Mapping[str, float]


class _Recorded(NamedTuple):
    """What a close-out's time entries come to."""

    minutes: int
    entries: int
    untouched: int


_Closed = tuple[CloseOut, float, list[_Done]]
OF_ESTIMATE = (
    *("method__code", "method_id", "rate_book_id", "person_hours", "paid_person_hours", "treated_area_m2"),
    *("own_log_sd", "shared_log_sd", "survey_log_sd", "form_shares"),
)


def closed_orders_evidence(season: Season) -> ClosedWork:
    """Every closed order of a season: as evidence, or left out with the reason. By the standing close-outs.

    A season has thousands of them, so that a few columns are read of each row, and the ranges are figured together.
    """
    listed = list(_close_outs(season))
    recorded, done = _recorded(season), _done(season)
    closed: list[_Closed] = []
    left_out = []
    for close_out in listed:
        hours, behind = recorded[close_out.pk], done[close_out.order_id]
        if because := _why_not(hours, sum(one.paid_hours * one.part for one in behind)):
            left_out.append(LeftOut(str(close_out.order.number), str(close_out.order.public_id), because))
        else:
            closed.append((close_out, hours.minutes / MINUTES_PER_HOUR, behind))
    books = {book.pk: book for book in RateBook.objects.all()}
    spreads = _spreads([behind for *_, behind in closed])
    evidence = (_evidence(*one, spread, books) for one, spread in zip(closed, spreads, strict=True))
    return ClosedWork(tuple(evidence), tuple(left_out))


def _standing(season: Season) -> dict[str, Any]:
    """Which close-outs count, as a filter."""
    return {"order__season": season, "order__state": "closed", "amended_by__isnull": True}


def _close_outs(season: Season) -> QuerySet[CloseOut]:
    rows = CloseOut.objects.filter(**_standing(season)).select_related("order__site", "order__crew")
    told = ("order__number", "order__public_id", "order__site__code", "order__crew__name")
    return rows.only("work_date", *told).order_by("order__number")


def _recorded(season: Season) -> Mapping[int, _Recorded]:
    """By close-out. A person's part of a shared time is known where the work beside it was measured."""
    rows = TimeEntry.objects.filter(**{f"close_out__{name}": value for name, value in _standing(season).items()})
    by_origin: dict[int, dict[str, tuple[int, int]]] = defaultdict(dict)
    summed = rows.order_by().values_list("close_out_id", "origin").annotate(minutes=Sum("minutes"), count=Count("id"))
    for close_out, origin, minutes, count in summed:
        by_origin[close_out][origin] = minutes, count
    found: dict[int, _Recorded] = defaultdict(lambda: _Recorded(0, 0, 0))
    for close_out, origins in by_origin.items():
        known = {*MEASURED, SHARED} if any(origin in MEASURED for origin in origins) else set(MEASURED)
        untouched = sum(count for origin, (_, count) in origins.items() if origin not in known)
        minutes, entries = (sum(figures) for figures in zip(*origins.values(), strict=True))
        found[close_out] = _Recorded(minutes, entries, untouched)
    return found


def _why_not(recorded: _Recorded, estimated_paid_hours: float) -> str:
    """Why an order's hours are no evidence; empty: they are."""
    if not recorded.entries:
        return "Its close-out states no hours."
    if recorded.untouched:
        return f"{recorded.untouched} of its {recorded.entries} time entries were filled in and never touched."
    if estimated_paid_hours <= 0:
        return "Nothing of what was estimated was done."
    return ""


def _done(season: Season) -> Mapping[int, list[_Done]]:
    """By order, what was done of it, in the order of its days."""
    outcomes = PatchOutcome.objects.filter(**{f"close_out__{name}": value for name, value in _standing(season).items()})
    columns = ("close_out__order_id", "prescription_id", "percent_complete")
    percent = {(order, asked): done for order, asked, done in outcomes.order_by("id").values_list(*columns)}
    served = VisitShare.objects.filter(visit__order_visit__order__season=season).exclude(visit__state="dropped")
    served = served.order_by("visit__day", "visit_id", "prescription_id")
    shares: dict[tuple[int, int], float] = defaultdict(float)
    for order, asked, share in served.values_list("visit__order_visit__order_id", "prescription_id", "share"):
        shares[order, asked] += share
    named = VisitShare.objects.filter(visit__order_visit__order__season=season).order_by().values("prescription")
    behind = Prescription.objects.filter(pk__in=named).order_by()
    figures = {
        key: (left, told)
        for key, left, *told in behind.values_list("pk", "share_left", *(f"estimate__{name}" for name in OF_ESTIMATE))
    }
    found: dict[int, list[_Done]] = defaultdict(list)
    for (order, asked), share in shares.items():
        left, told = figures[asked]
        if (part := left * share * percent.get((order, asked), 0) / 100) > 0:
            *of_estimate, survey, forms = told
            found[order].append(_Done._make((part, *of_estimate, survey or 0.0, forms or {FORM_NOT_KNOWN: 1.0})))
    return found


def _evidence(
    close_out: CloseOut,
    recorded_hours: float,
    done: list[_Done],
    spread: Mapping[str, float],
    books: Mapping[int, RateBook],
) -> Evidence:
    order, used = close_out.order, {one.rate_book for one in done}
    paid = sum(one.paid_hours * one.part for one in done)
    likely = sum(one.hours * one.part for one in done)
    return Evidence(
        order=str(order.number),
        order_id=str(order.public_id),
        site=order.site.code,
        crew=order.crew.name,
        work_date=close_out.work_date.isoformat(),
        rate_books=sorted({str(books[key]) for key in used}),
        crew_kinds=sorted({books[key].crew_kind for key in used}),
        recorded_paid_hours=recorded_hours,
        estimated_paid_hours=paid,
        estimated_hours=likely,
        actual_hours=recorded_hours * likely / paid,
        treated_area_m2=sum(one.area_m2 * one.part for one in done),
        parts=_parts(done),
        **spread,
    )


def _spreads(closed: list[list[_Done]]) -> list[dict[str, float]]:
    """Low and high of each order's hours, with the error that a method's estimates share; and its own log spreads."""
    rows = [(number, *_spread_row(one)) for number, done in enumerate(closed) for one in done]
    if not rows:
        return []
    number, group = np.array([row[:2] for row in rows], dtype=np.int64).T
    hours, own, shared, survey = np.array([row[2:] for row in rows], dtype=float).T
    alone = np.sqrt(np.maximum(own**2 - survey**2, 0.0))
    whole = np.bincount(number, weights=hours)
    by_order = [np.bincount(number, weights=hours * part) / whole for part in (alone, survey)]
    fits = totals_fit(hours, own, shared, group, number)
    return [
        {"low_hours": fit.low, "high_hours": fit.high, "own_log_sd": mine, "survey_log_sd": surveyed}
        for fit, mine, surveyed in zip(fits, *(part.tolist() for part in by_order), strict=True)
    ]


def _spread_row(one: _Done) -> tuple[float, ...]:
    return one.method_id, one.hours * one.part, one.own_log_sd, one.shared_log_sd, one.survey_log_sd


def _parts(done: list[_Done]) -> list[dict[str, Any]]:
    """Shares of the order's estimated hours by method and growth form."""
    hours: dict[tuple[str, str], float] = defaultdict(float)
    for one in done:
        for form, share in one.form_shares.items():
            hours[one.method, form] += share * one.hours * one.part
    total = sum(hours.values())
    return [
        {"method": method, "growth_form": form, "share": amount / total}
        for (method, form), amount in sorted(hours.items())
    ]
