"""Reads of check-ins: who is outside, until when, and who is not back."""

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, TypedDict
from uuid import UUID

from django.db.models import Exists, F, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from orders.common.models import User
from orders.field.models import Briefing, CheckIn, CheckInStep, Detection, OverdueAlert
from orders.field.selectors.policy import field_policy
from orders.workorders.field_facts import crew_scope, found_or_refused


class Hours(TypedDict):
    """`until`: the hour that was named last. `ended_at`: null while they are out."""

    until: datetime
    ended_at: datetime | None


if TYPE_CHECKING:
    from django_stubs_ext import WithAnnotations

    CheckInRow = WithAnnotations[CheckIn, Hours]


def check_ins() -> "QuerySet[CheckInRow]":
    """All, each with its hours."""
    steps = CheckInStep.objects.filter(check_in=OuterRef("pk"))
    longer = steps.filter(kind="longer").order_by("-at", "-id").values("back_by")[:1]
    ended = steps.exclude(kind="longer").order_by("at", "id").values("at")[:1]
    rows = CheckIn.objects.annotate(until=Coalesce(Subquery(longer), F("back_by")), ended_at=Subquery(ended))
    rows = rows.select_related("crew", "site", "by").defer("site__boundary")
    return rows.prefetch_related("people__person", "steps__by")


def check_ins_of(actor: User, *, on: date) -> "QuerySet[CheckInRow]":
    return check_ins().filter(crew_scope(actor, on=on, users=("by",)))


def check_in_get(actor: User, check_in_id: UUID, *, on: date) -> CheckIn:
    return found_or_refused(check_ins_of(actor, on=on), check_in_id, "check-in")


def out_now(rows: "QuerySet[CheckInRow]") -> "QuerySet[CheckInRow]":
    """Who is outside, those due back first."""
    return rows.filter(ended_at__isnull=True).order_by("until", "id")


def overdue(rows: "QuerySet[CheckInRow]", *, at: datetime) -> "QuerySet[CheckInRow]":
    """Not back though the program's grace is over."""
    return out_now(rows).filter(until__lt=at - timedelta(minutes=field_policy().overdue_after_minutes))


def alerts_standing() -> QuerySet[OverdueAlert]:
    """Of crews that are still out and named no later hour since."""
    of = check_ins().filter(pk=OuterRef("check_in"), ended_at__isnull=True, until=OuterRef("back_by"))
    return OverdueAlert.objects.filter(Exists(of)).select_related("check_in__crew", "check_in__site", "taken_by")


def alerts_by_check_in() -> dict[int, OverdueAlert]:
    return {alert.check_in_id: alert for alert in alerts_standing()}


def briefings_of(actor: User, *, on: date) -> QuerySet[Briefing]:
    rows = Briefing.objects.filter(crew_scope(actor, on=on, users=("by",)))
    return rows.select_related("crew", "site", "led_by", "by").defer("site__boundary")


def detections_of(actor: User, *, on: date) -> QuerySet[Detection]:
    """A crew lead's are own ones: a detection names no crew."""
    rows = Detection.objects.filter(crew_scope(actor, on=on, crews=(), users=("by",)))
    return rows.select_related("site", "species", "survey__patch", "by").defer("site__boundary", "survey__geometry")
