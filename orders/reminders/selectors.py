"""Reads of deadlines and notices. Those that take the actor are the one scope for lists, single reads and exports."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date, datetime, timedelta
from typing import Any, NamedTuple
from uuid import UUID

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Sum, Value
from django.db.models.functions import Coalesce, NullIf

from estimating.inputs import CLIMBING, GROWTH_FORMS, SPRAWLING
from orders.common.errors import NotFound
from orders.common.models import User
from orders.common.models.user import COORDINATOR, CREW_LEAD, PESTICIDE_SUPERVISOR
from orders.crews.models import CrewMembership
from orders.planning.models import VisitShare
from orders.reminders.models import (
    OWED,
    CalendarFeed,
    CalendarItem,
    Deadline,
    Notice,
    ReminderPreference,
    ReminderStep,
)
from orders.sites.models import Survey, SurveyComponent
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import SEE_ALL, orders_of, outcomes_standing

FRUITING_FORMS = (GROWTH_FORMS[CLIMBING], GROWTH_FORMS[SPRAWLING])
TELLING_STATES = ("issued", "underway")
RELATED = (
    "site",
    "patch__site",
    "species",
    "growth_form",
    "survey",
    "prescription__method",
    "order",
    "qualification__person__user",
    "product",
)
HEAVY = ("site__boundary", "patch__site__boundary", "survey__geometry", "order__label")


def deadlines_of(actor: User, *, on: date) -> QuerySet[Deadline]:
    """All for those who see all orders; a crew lead's are those of own crews' issued orders, of patches on them, and of
    own licenses."""
    rows = Deadline.objects.select_related(*RELATED).defer(*HEAVY).order_by("due_on", "id")
    if actor.has_role(*SEE_ALL):
        return rows
    if not actor.has_role(CREW_LEAD):
        return rows.none()
    own = orders_of(actor, on=on).filter(state__in=TELLING_STATES).order_by().values("pk")
    served = VisitShare.objects.filter(visit__order_visit__order__in=own).exclude(visit__state="dropped").order_by()
    on_patches = Q(kind="seed", patch__in=served.values("prescription__patch"))
    on_windows = Q(kind="window", prescription__in=served.values("prescription"))
    return rows.filter(on_patches | on_windows | Q(order__in=own) | Q(qualification__person__user=actor))


def deadlines_owed() -> QuerySet[Deadline]:
    """Not done since, the soonest first; without scope, for the terminal."""
    return Deadline.objects.filter(state__in=OWED, done_on__isnull=True).order_by("due_on", "id")


def notices_of(actor: User) -> QuerySet[Notice]:
    """A person's own, newest first; coordinators see everybody's."""
    related = [f"deadline__{name}" for name in RELATED]
    heavy = [f"deadline__{name}" for name in HEAVY]
    rows = Notice.objects.select_related("step", "user", *related).defer(*heavy).order_by("-id")
    return rows if actor.has_role(COORDINATOR) else rows.filter(user=actor)


def notice_get(actor: User, notice_id: UUID) -> Notice:
    found = notices_of(actor).filter(public_id=notice_id).first()
    if found is None:
        raise NotFound("There is no such notice.")
    return found


def deadlines_of_year(year: int) -> QuerySet[Deadline]:
    return Deadline.objects.filter(kind="seed", year=year).order_by("id")


def deadlines_to_tell(*, due_from: date, due_to: date, known_from: datetime) -> QuerySet[Deadline]:
    """Owed and not done since: due within the days, or known only after the moment."""
    near = Q(due_on__range=(due_from, due_to)) | Q(known_at__gte=known_from)
    owed = Deadline.objects.filter(near, state__in=OWED, done_on__isnull=True)
    return owed.select_related(*RELATED).defer(*HEAVY).order_by("due_on", "id")


def steps_active() -> list[ReminderStep]:
    return list(ReminderStep.objects.filter(is_active=True).order_by("id"))


def steps() -> QuerySet[ReminderStep]:
    return ReminderStep.objects.order_by("kind", "counts_from", "-days_before", "local_time", "id")


def step_get(step_id: UUID) -> ReminderStep:
    found = steps().filter(public_id=step_id).first()
    if found is None:
        raise NotFound("There is no such reminder step.")
    return found


def notices_open(rows: QuerySet[Notice], *, at: datetime) -> QuerySet[Notice]:
    """Of what is still owed, neither acknowledged nor put off."""
    awake = Q(snoozed_until__isnull=True) | Q(snoozed_until__lte=at)
    owed = rows.filter(awake, deadline__state__in=OWED, deadline__done_on__isnull=True, acknowledged_at__isnull=True)
    return owed.filter(~Exists(_newer()))


def notices_open_count(user: User, *, at: datetime) -> int:
    return notices_open(Notice.objects.filter(user=user), at=at).count()


def _newer() -> QuerySet[Notice]:
    """A later notice of the same to the same person: the earlier one has nothing more to say."""
    return Notice.objects.filter(deadline=OuterRef("deadline"), user=OuterRef("user"), pk__gt=OuterRef("pk"))


def notices_to_mail(*, at: datetime, made_from: datetime, claimed_before: datetime) -> QuerySet[Notice]:
    """Waiting for the mail: of a deadline still owed, not read yet nor put off, the newest to that person, and with an
    address.

    The address is the user's, or else the one that the crew's records hold for the person.
    """
    free = Q(claimed_at__isnull=True) | Q(claimed_at__lt=claimed_before)
    lately = Q(made_at__gte=made_from) | Q(snoozed_until__gte=made_from)
    waiting = notices_open(Notice.objects.filter(free & lately, handed_over_at__isnull=True), at=at)
    address = Coalesce(NullIf("user__email", Value("")), "user__person__email")
    reachable = waiting.annotate(address=address).exclude(Q(address__isnull=True) | Q(address=""))
    related = ("user__reminder_preference", "deadline__site", "step", "digest")
    return (
        reachable.filter(user__is_active=True).select_related(*related).defer("deadline__site__boundary").order_by("id")
    )


def coordinators() -> list[User]:
    return _with_role(COORDINATOR)


def pesticide_supervisors() -> list[User]:
    return _with_role(PESTICIDE_SUPERVISOR)


def _with_role(code: str) -> list[User]:
    return list(User.objects.filter(is_active=True, roles__code=code).distinct().order_by("id"))


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


def crews_on_prescriptions(prescription_ids: Collection[int]) -> set[tuple[int, int]]:
    """(prescription, crew) of crews with an issued order that serves it; visits that fell away do not count."""
    order = "visit__order_visit__order"
    shares = VisitShare.objects.filter(
        prescription__in=prescription_ids, **{f"{order}__state__in": TELLING_STATES}
    ).exclude(visit__state="dropped")
    return set(shares.order_by().values_list("prescription_id", f"{order}__crew"))


def crews_of_orders(order_ids: Collection[int]) -> set[tuple[int, int]]:
    return set(WorkOrder.objects.filter(pk__in=order_ids).order_by().values_list("pk", "crew_id"))


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


def components_that_fruit(year: int) -> QuerySet[SurveyComponent, tuple[int, int, int, int, str, str]]:
    """(survey, patch, species, growth form, fertile, condition) of climbing and sprawling components in those
    surveys."""
    rows = SurveyComponent.objects.filter(
        survey__voided_at__isnull=True,
        survey__observed_on__lte=date(year, 12, 31),
        growth_form__code__in=FRUITING_FORMS,
    )
    columns = ("survey_id", "survey__patch_id", "species_id", "growth_form_id", "fertile", "reproductive_condition")
    return rows.order_by("id").values_list(*columns)


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


def reminder_preference(user: User) -> ReminderPreference:
    """A person's choice; a row that is not stored yet where nothing was chosen."""
    return ReminderPreference.objects.filter(user=user).first() or ReminderPreference(user=user)


SHOWN_BACK = timedelta(days=60)  # past entries, and cancelled ones: long enough for a program that looks seldom


def feed_users() -> list[User]:
    """Whoever has an open address and may log in."""
    return list(
        User.objects.filter(is_active=True, calendar_feeds__revoked_at__isnull=True, calendar_feeds__isnull=False)
        .distinct()
        .order_by("id")
    )


def feed_of(user: User) -> CalendarFeed | None:
    return CalendarFeed.objects.filter(user=user, revoked_at__isnull=True).first()


def feed_by_hash(secret_hash: str) -> CalendarFeed:
    found = CalendarFeed.objects.filter(secret_hash=secret_hash, revoked_at__isnull=True, user__is_active=True)
    feed = found.select_related("user").first()
    if feed is None:
        raise NotFound("There is no such calendar.")
    return feed


def calendar_items(user: User, *, at: datetime) -> QuerySet[CalendarItem]:
    """What a person's calendar shows: not too old, and what was cancelled not too long ago."""
    shown = Q(cancelled_at__isnull=True) | Q(cancelled_at__gte=at - SHOWN_BACK)
    rows = CalendarItem.objects.filter(shown, user=user, day__gte=(at - SHOWN_BACK).date())
    return rows.order_by("day", "id")
