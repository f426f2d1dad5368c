"""Visits and deadlines as entries of a person's calendar."""

import hashlib
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from django.conf import settings
from django.db.models import Prefetch

from orders.common.models import User
from orders.common.stamp import Stamp
from orders.crews.models import CrewMembership
from orders.planning.models import Visit, VisitShare
from orders.reminders.audience import Audience, reaches
from orders.reminders.convert.facts import since
from orders.reminders.letters import what_to_do
from orders.reminders.models import OWED, Deadline, ReminderStep
from orders.reminders.selectors import HEAVY, RELATED, steps_active

ON_ORDERS = ("issued", "underway", "closed")


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One entry as it is to be shown."""

    uid: str
    day: date
    summary: str
    description: str = ""
    location: str = ""
    has_alarm: bool = False

    @property
    def fingerprint(self) -> str:
        return hashlib.sha256(repr(self).encode()).hexdigest()


def calendar_entries(users: Sequence[User], stamp: Stamp) -> dict[int, dict[str, Entry]]:
    """By person and UID: the visits of own crews, and the deadlines of which the schedule tells that person."""
    found: dict[int, dict[str, Entry]] = {user.pk: {} for user in users}
    for user_id, entry in [*_visits(users, stamp), *_deadlines(users, stamp)]:
        found[user_id][entry.uid] = entry
    return found


def _uid(kind: str, row: Visit | Deadline) -> str:
    return f"{kind}.{row.public_id}@{settings.MESSAGE_ID_DOMAIN}"


def _visits(users: Sequence[User], stamp: Stamp) -> Iterator[tuple[int, Entry]]:
    members: dict[int, list[CrewMembership]] = defaultdict(list)
    held = CrewMembership.objects.filter(person__user__in=users, person__is_active=True)
    for member in held.select_related("person").order_by("id"):
        members[member.crew_id].append(member)
    shares = VisitShare.objects.select_related("prescription__patch", "prescription__method").order_by("id")
    visits = Visit.objects.filter(
        crew__in=members, day__gte=since(stamp), state__in=("ordered", "done"), order_visit__order__state__in=ON_ORDERS
    )
    related = visits.select_related("site", "crew", "order_visit__order").defer("site__boundary")
    for visit in related.prefetch_related(Prefetch("shares", queryset=shares)).order_by("day", "id"):
        entry = _visit_entry(visit)
        for member in members[visit.crew_id]:
            on_crew = member.first_day <= visit.day and (member.last_day is None or visit.day <= member.last_day)
            if on_crew and member.person.user_id is not None:
                yield member.person.user_id, entry


def _visit_entry(visit: Visit) -> Entry:
    work = [f"{share.prescription.patch.code}: {share.prescription.method.name}" for share in visit.shares.all()]
    return Entry(
        uid=_uid("visit", visit),
        day=visit.day,
        summary=f"{visit.site.name}, {visit.crew.name}",
        description="\n".join([f"Work order {visit.order_visit.order.number}", *work]),
        location=visit.site.name,
    )


def _deadlines(users: Sequence[User], stamp: Stamp) -> Iterator[tuple[int, Entry]]:
    rows = Deadline.objects.filter(state__in=OWED, done_on__isnull=True, due_on__gte=since(stamp))
    owed = list(rows.select_related(*RELATED).defer(*HEAVY).order_by("due_on", "id"))
    steps: dict[str, list[ReminderStep]] = defaultdict(list)
    for step in steps_active():
        steps[step.kind].append(step)
    audience, wanted = Audience(owed), {user.pk for user in users}
    for deadline in owed:
        entry = _deadline_entry(deadline)
        for user, flags in audience.of(deadline, stamp.at):
            if user.pk in wanted and any(reaches(step, flags) for step in steps[deadline.kind]):
                yield user.pk, entry


def _deadline_entry(deadline: Deadline) -> Entry:
    return Entry(
        uid=_uid("deadline", deadline),
        day=deadline.due_on,
        summary=f"{deadline.get_kind_display()}: {deadline.title}"[:300],
        description=f"{deadline.because}\n{what_to_do(deadline)}",
        location=deadline.site.name if deadline.site else "",
        has_alarm=True,
    )
