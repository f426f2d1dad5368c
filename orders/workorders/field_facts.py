"""Reads of what crews sent, in the actor's scope: the office sees all, a crew lead what is of own crews."""

from collections.abc import Iterable
from datetime import date
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import Exists, Model, OuterRef, Q, QuerySet

from orders.common.errors import NotFound
from orders.common.models import User
from orders.common.models.user import CREW_LEAD
from orders.crews.selectors import memberships_of
from orders.workorders.models import (
    Application,
    Incident,
    IncidentNote,
    MixBatch,
    Photo,
    SignPosting,
    TimedSpan,
    WeatherCheck,
)
from orders.workorders.selectors import SEE_ALL

Found = TypeVar("Found", bound=Model)
BY_ORDER = ("order__crew",)


def crew_scope(actor: User, *, on: date, crews: Iterable[str] = ("crew",), users: Iterable[str] = ()) -> Q:
    """`crews` and `users` are the paths by which a row belongs to somebody; one of them is enough."""
    if actor.has_role(*SEE_ALL):
        return Q()
    seen = Q(pk__in=[])
    if actor.has_role(CREW_LEAD):
        own = [member.crew_id for member in memberships_of(actor, on)]
        for path in crews:
            seen |= Q(**{f"{path}__in": own})
        for path in users:
            seen |= Q(**{path: actor})
    return seen


def found_or_refused(rows: QuerySet[Found], public_id: UUID, what: str) -> Found:
    found = rows.filter(public_id=public_id).first()
    if found is None:
        raise NotFound(f"There is no such {what}.")
    return found


def batches_of(actor: User, *, on: date) -> QuerySet[MixBatch]:
    rows = MixBatch.objects.filter(crew_scope(actor, on=on))
    rows = rows.select_related("crew", "site", "mix", "mixed_by", "supervised_by", "by").defer("site__boundary")
    return rows.prefetch_related("parts__product", "parts__lot", "day_ends")


def applications_of(actor: User, *, on: date) -> QuerySet[Application]:
    """Those that stand: one that was corrected is in the one that replaces it."""
    rows = Application.objects.filter(crew_scope(actor, on=on, crews=("order__crew", "batch__crew")))
    rows = rows.filter(replaced_by__isnull=True).select_related(
        "batch__mix", "order", "site", "prescription__patch", "responsible", "by"
    )
    return rows.defer("site__boundary", "order__label").prefetch_related("people__person")


def weather_checks_of(actor: User, *, on: date) -> QuerySet[WeatherCheck]:
    rows = WeatherCheck.objects.filter(crew_scope(actor, on=on, crews=("order__crew", "batch__crew"), users=("by",)))
    return rows.select_related("site", "order", "batch", "by").defer("site__boundary", "order__label")


def incidents_of(actor: User, *, on: date) -> QuerySet[Any]:
    """Each with `is_closed`: a note of the desk said that nothing more is to be done."""
    rows = Incident.objects.filter(crew_scope(actor, on=on, crews=("crew", "order__crew"), users=("by",)))
    closing = IncidentNote.objects.filter(incident=OuterRef("pk"), is_closing=True)
    rows = rows.annotate(is_closed=Exists(closing)).select_related("crew", "site", "order", "by")
    return rows.defer("site__boundary", "order__label").prefetch_related("notes__by")


def incident_get(actor: User, incident_id: UUID, *, on: date) -> Incident:
    rows: QuerySet[Incident] = incidents_of(actor, on=on)
    return found_or_refused(rows, incident_id, "incident")


def photos_of(actor: User, *, on: date) -> QuerySet[Photo]:
    rows = Photo.objects.filter(crew_scope(actor, on=on, crews=BY_ORDER, users=("by",)))
    return rows.select_related("order", "by").defer("order__label")


def photo_get(actor: User, photo_id: UUID, *, on: date) -> Photo:
    return found_or_refused(photos_of(actor, on=on), photo_id, "photo")


def sign_postings_of(actor: User, *, on: date) -> QuerySet[SignPosting]:
    rows = SignPosting.objects.filter(crew_scope(actor, on=on, crews=BY_ORDER, users=("by",)))
    return rows.select_related("site", "order", "by").defer("site__boundary", "order__label")


def signs_up(rows: QuerySet[SignPosting]) -> QuerySet[SignPosting]:
    """Signs that nobody took down yet, the longest up first."""
    down = SignPosting.objects.filter(state="down").order_by().values("sign")
    return rows.filter(state="up").exclude(sign__in=down).order_by("at", "id")


def spans_of(actor: User, *, on: date) -> QuerySet[TimedSpan]:
    """Those that stand and were not struck."""
    rows = TimedSpan.objects.filter(crew_scope(actor, on=on), replaced_by__isnull=True, minutes__gt=0)
    return rows.select_related("crew", "person", "order", "prescription__patch", "by").defer("order__label")
