"""Who is told of each of some deadlines, by which step; its queries are made once for all of them."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime

from orders.common.models import User
from orders.crews.models import CrewMembership
from orders.reminders.models import Deadline, ReminderStep
from orders.reminders.moments import local_today
from orders.reminders.selectors import (
    coordinators,
    crews_of_orders,
    crews_on_patches,
    crews_on_prescriptions,
    lead_memberships,
    pesticide_supervisors,
)

FLAGS = ("to_coordinators", "to_leads", "to_supervisors", "to_person")


class Audience:
    """`of(deadline, at)`: each person once, in a fixed order, with the steps' flags that reach them."""

    def __init__(self, deadlines: Sequence[Deadline]) -> None:
        self._coordinators, self._supervisors = coordinators(), pesticide_supervisors()
        self._crews: dict[int, set[int]] = defaultdict(set)
        self._by_patch([row for row in deadlines if row.kind == "seed"])
        self._by_prescription([row for row in deadlines if row.prescription_id])
        self._by_order([row for row in deadlines if row.order_id])
        self._leads = lead_memberships(crew for crews in self._crews.values() for crew in crews)

    def _by_patch(self, rows: Sequence[Deadline]) -> None:
        found = crews_on_patches({row.patch_id for row in rows if row.patch_id}) if rows else set()
        self._put(rows, "patch_id", ((crew.patch_id, crew.crew_id) for crew in found))

    def _by_prescription(self, rows: Sequence[Deadline]) -> None:
        found = crews_on_prescriptions({row.prescription_id for row in rows if row.prescription_id}) if rows else set()
        self._put(rows, "prescription_id", found)

    def _by_order(self, rows: Sequence[Deadline]) -> None:
        found = crews_of_orders({row.order_id for row in rows if row.order_id}) if rows else set()
        self._put(rows, "order_id", found)

    def _put(self, rows: Iterable[Deadline], column: str, found: Iterable[tuple[int, int]]) -> None:
        crews: dict[int, set[int]] = defaultdict(set)
        for key, crew in found:
            crews[key].add(crew)
        for row in rows:
            self._crews[row.pk] |= crews[getattr(row, column)]

    def of(self, deadline: Deadline, at: datetime) -> list[tuple[User, frozenset[str]]]:
        told: dict[int, tuple[User, set[str]]] = {}
        for flag, users in zip(FLAGS, self._groups(deadline, at), strict=True):
            for user in users:
                told.setdefault(user.pk, (user, set()))[1].add(flag)
        return [(user, frozenset(flags)) for user, flags in told.values()]

    def _groups(self, deadline: Deadline, at: datetime) -> tuple[Iterable[User], ...]:
        leads = self._leads_of(deadline, local_today(deadline, at))
        return self._coordinators, leads, self._supervisors, _person(deadline)

    def _leads_of(self, deadline: Deadline, today: date) -> Iterator[User]:
        for crew in sorted(self._crews[deadline.pk]):
            for member in self._leads[crew]:
                user = member.person.user
                if user is not None and _is_member(member, today):
                    yield user


def reaches(step: ReminderStep, flags: frozenset[str]) -> bool:
    return any(getattr(step, flag) for flag in flags)


def _person(deadline: Deadline) -> list[User]:
    user = deadline.qualification.person.user if deadline.qualification else None
    return [user] if user is not None and user.is_active else []


def _is_member(member: CrewMembership, day: date) -> bool:
    return member.first_day <= day and (member.last_day is None or member.last_day >= day)
