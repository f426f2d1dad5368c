"""Reads of deadlines and notices. Those that take the actor are the one scope for lists, single reads and exports."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date, datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Sum, Value
from django.db.models.functions import Coalesce, NullIf

from estimating.inputs import CLIMBING, GROWTH_FORMS, SPRAWLING
from orders.common.errors import NotFound
from orders.common.models import User
from orders.common.models.user import COORDINATOR, CREW_LEAD
from orders.crews.models import CrewMembership
from orders.planning.models import VisitShare
from orders.reminders.models import OWED, Deadline, Notice, ReminderStep
from orders.sites.models import Survey, SurveyComponent
from orders.workorders.selectors import SEE_ALL, orders_of, outcomes_standing

FRUITING_FORMS = (GROWTH_FORMS[CLIMBING], GROWTH_FORMS[SPRAWLING])
TELLING_STATES = ("issued", "underway")
RELATED = ("patch__site", "species", "growth_form", "survey")


def deadlines_of(actor: User, *, on: date) -> QuerySet[Deadline]:
    """All for those who see all orders; a crew lead's are those of patches on own crews' issued orders."""
    rows = Deadline.objects.select_related(*RELATED).order_by("due_on", "id")
    if actor.has_role(*SEE_ALL):
        return rows
    if not actor.has_role(CREW_LEAD):
        return rows.none()
    own = orders_of(actor, on=on).filter(state__in=TELLING_STATES).order_by().values("pk")
    served = VisitShare.objects.filter(visit__order_visit__order__in=own).exclude(visit__state="dropped")
    return rows.filter(patch__in=served.order_by().values("prescription__patch"))


def deadline_get(actor: User, deadline_id: UUID, *, on: date) -> Deadline:
    found = deadlines_of(actor, on=on).filter(public_id=deadline_id).first()
    if found is None:
        raise NotFound("There is no such deadline.")
    return found


def notices_of(actor: User) -> QuerySet[Notice]:
    """A person's own, newest first; coordinators see everybody's."""
    related = [f"deadline__{name}" for name in RELATED]
    rows = Notice.objects.select_related("step", "user", *related).order_by("-id")
    return rows if actor.has_role(COORDINATOR) else rows.filter(user=actor)


def notice_get(actor: User, notice_id: UUID) -> Notice:
    found = notices_of(actor).filter(public_id=notice_id).first()
    if found is None:
        raise NotFound("There is no such notice.")
    return found


def deadlines_of_year(year: int) -> QuerySet[Deadline]:
    return Deadline.objects.filter(kind="seed", year=year).order_by("id")


def deadlines_to_tell(*, due_from: date, due_to: date, seen_from: datetime) -> QuerySet[Deadline]:
    """Owed and not done since: due within the days, or late by fruit that was reported after the moment."""
    near = Q(due_on__range=(due_from, due_to)) | Q(state="late", survey__recorded_at__gte=seen_from)
    owed = Deadline.objects.filter(near, kind="seed", state__in=OWED, done_on__isnull=True)
    light = owed.select_related(*RELATED).defer("patch__site__boundary", "survey__geometry")
    return light.order_by("due_on", "id")


def steps_active() -> list[ReminderStep]:
    return list(ReminderStep.objects.filter(kind="seed", is_active=True).order_by("id"))


def notices_to_mail(*, made_from: datetime, claimed_before: datetime) -> QuerySet[Notice]:
    """Waiting for the mail: of a deadline still owed, not read yet, the newest to that person, and with an address.

    The address is the user's, or else the one that the crew's records hold for the person.
    """
    newer = Notice.objects.filter(deadline=OuterRef("deadline"), user=OuterRef("user"), pk__gt=OuterRef("pk"))
    free = Q(claimed_at__isnull=True) | Q(claimed_at__lt=claimed_before)
    waiting = Notice.objects.filter(free, handed_over_at__isnull=True, acknowledged_at__isnull=True)
    waiting = waiting.filter(made_at__gte=made_from, deadline__state__in=OWED, deadline__done_on__isnull=True)
    address = Coalesce(NullIf("user__email", Value("")), "user__person__email")
    reachable = waiting.annotate(address=address).exclude(Q(address__isnull=True) | Q(address=""))
    return reachable.filter(~Exists(newer), user__is_active=True).order_by("id")


def coordinators() -> list[User]:
    return list(User.objects.filter(is_active=True, roles__code=COORDINATOR).distinct().order_by("id"))


class CrewOnPatch(NamedTuple):
    patch_id: int
    crew_id: int
    crew_public_id: UUID


def crews_on_patches(patch_ids: Collection[int]) -> set[CrewOnPatch]:
    """Crews with an issued order that serves the patch; visits that fell away do not count."""
    shares = VisitShare.objects.filter(
        prescription__patch__in=patch_ids, visit__order_visit__order__state__in=TELLING_STATES
    )
    crew = "visit__order_visit__order__crew"
    named = shares.exclude(visit__state="dropped").order_by()
    return {CrewOnPatch(*row) for row in named.values_list("prescription__patch_id", crew, f"{crew}__public_id")}


def lead_memberships(crew_ids: Iterable[int]) -> dict[int, list[CrewMembership]]:
    """By crew: all who lead it or did or will, with a login; the caller picks those of its day."""
    members = CrewMembership.objects.filter(
        crew__in=set(crew_ids), is_lead=True, person__is_active=True, person__user__is_active=True
    )
    found: dict[int, list[CrewMembership]] = defaultdict(list)
    for member in members.select_related("person__user").order_by("crew_id", "person_id", "first_day"):
        found[member.crew_id].append(member)
    return found


def surveys_standing(year: int) -> QuerySet[Survey, tuple[int, int, date]]:
    """(survey, patch, day) of every survey up to the year's end that was not voided, newest first."""
    rows = Survey.objects.filter(voided_at__isnull=True, observed_on__lte=date(year, 12, 31))
    return rows.order_by("-observed_on", "-id").values_list("id", "patch_id", "observed_on")


def components_that_fruit(year: int) -> QuerySet[SurveyComponent, tuple[int, int, int, int, str]]:
    """(survey, patch, species, growth form, fertile) of climbing and sprawling components in those surveys."""
    rows = SurveyComponent.objects.filter(
        survey__voided_at__isnull=True,
        survey__observed_on__lte=date(year, 12, 31),
        growth_form__code__in=FRUITING_FORMS,
    )
    return rows.order_by("id").values_list("survey_id", "survey__patch_id", "species_id", "growth_form_id", "fertile")


class Work(NamedTuple):
    """What a standing close-out says of one prescription whose method removes fruit."""

    order_id: int
    prescription_id: int
    patch_id: int
    work_date: date
    percent_complete: int
    share_left: float
    follows_id: int | None
    origin: str
    components: list[dict[str, Any]] | None


def removal_work(year: int) -> list[Work]:
    """In the order of its days, from the year before on: what is left over is worked off within a year."""
    rows = (
        outcomes_standing()
        .filter(prescription__method__facts__removes_fruit="yes", percent_complete__gt=0)
        .filter(close_out__work_date__range=(date(year - 1, 1, 1), date(year, 12, 31)))
        .order_by("close_out__work_date", "id")
    )
    columns = rows.values_list(
        "close_out__order_id",
        "prescription_id",
        "prescription__patch_id",
        "close_out__work_date",
        "percent_complete",
        "prescription__share_left",
        "prescription__follows_id",
        "prescription__origin",
        F("prescription__estimate__inputs__components"),
    )
    return [Work(*row) for row in columns]


def shares_on_orders(order_ids: Collection[int]) -> dict[tuple[int, int], float]:
    """By (order, prescription): the share of it that the order serves."""
    shares = VisitShare.objects.filter(visit__order_visit__order__in=order_ids).exclude(visit__state="dropped")
    summed = shares.order_by().values_list("visit__order_visit__order", "prescription_id").annotate(Sum("share"))
    return {(order, prescription): share for order, prescription, share in summed}
