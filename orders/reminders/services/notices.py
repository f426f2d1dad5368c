"""Notices: one row a deadline, step and person, and the reader's word that it was read."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from django.conf import settings

from orders.common.changes import change_record
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import CrewMembership
from orders.reminders.letters import notice_words
from orders.reminders.models import BOTH, COORDINATORS, LEADS, Deadline, Notice, ReminderStep
from orders.reminders.moments import NEWS_DAYS, step_due
from orders.reminders.selectors import (
    coordinators,
    crews_on_patches,
    deadlines_to_tell,
    lead_memberships,
    steps_active,
)


class NotAddressed(Refusal):
    """Only the person whom a notice was made for can say that it was read."""

    code = "not_addressed"
    title = "Addressed to somebody else"
    status = 403


class _Due(NamedTuple):
    """A notice that is to be made."""

    deadline: Deadline
    step: ReminderStep
    user: User


def notices_make(*, at: datetime, stamp: Stamp) -> list[Notice]:
    """For each deadline that is owed, the latest step whose time has come, to everybody of its audience who has not
    had it. A late run makes only that one, never those that it passed over.

    Looked for without a lock, and once more under it if there is any, so that two runs at once make each once.
    """
    if next(_due(at), None) is None:
        return []
    with writing():
        return [_notice_add(due, at, stamp) for due in list(_due(at))]


def _due(at: datetime) -> Iterator[_Due]:
    steps = steps_active()
    told = [(deadline, step) for deadline in _near(steps, at) if (step := step_due(deadline, steps, at))]
    audience = _Audience([deadline for deadline, _ in told])
    known = set(
        Notice.objects.filter(deadline__in=[deadline for deadline, _ in told])
        .order_by()
        .values_list("deadline_id", "step_id", "user_id")
    )
    for deadline, step in told:
        for user in audience.of(deadline, step, at):
            if (deadline.pk, step.pk, user.pk) not in known:
                yield _Due(deadline, step, user)


def _near(steps: list[ReminderStep], at: datetime) -> Iterator[Deadline]:
    """Owed deadlines of which some step may have come and still be news; a day of room on both sides for the zones."""
    days = [step.days_before for step in steps]
    before, after = max([0, *days]), -min([0, *days])
    news = timedelta(days=NEWS_DAYS)
    day = timedelta(days=1)
    yield from deadlines_to_tell(
        due_from=at.date() - news - (after + 1) * day, due_to=at.date() + (before + 1) * day, seen_from=at - news
    )


class _Audience:
    """Who is told of each of some deadlines, with its queries made once for all of them."""

    def __init__(self, deadlines: list[Deadline]) -> None:
        self._coordinators = coordinators()
        self._crews: dict[int, list[int]] = defaultdict(list)
        for crew in sorted(crews_on_patches({deadline.patch_id for deadline in deadlines})):
            self._crews[crew.patch_id].append(crew.crew_id)
        self._leads = lead_memberships(crew for crews in self._crews.values() for crew in crews)

    def of(self, deadline: Deadline, step: ReminderStep, at: datetime) -> list[User]:
        """Each person once, in a fixed order."""
        found = self._coordinators if step.audience in {COORDINATORS, BOTH} else []
        if step.audience in {LEADS, BOTH}:
            found = [*found, *self._leads_of(deadline, at)]
        return list({user.pk: user for user in found}.values())

    def _leads_of(self, deadline: Deadline, at: datetime) -> Iterator[User]:
        today = at.astimezone(ZoneInfo(deadline.patch.site.time_zone)).date()
        for crew in self._crews[deadline.patch_id]:
            for member in self._leads[crew]:
                user = member.person.user
                if user is not None and _is_member(member, today):
                    yield user


def _is_member(member: CrewMembership, day: date) -> bool:
    return member.first_day <= day and (member.last_day is None or member.last_day >= day)


def _notice_add(due: _Due, at: datetime, stamp: Stamp) -> Notice:
    subject, body = notice_words(due.deadline, due.step)
    notice = Notice.objects.create(
        deadline=due.deadline,
        step=due.step,
        user=due.user,
        message_id=message_id(due.deadline, due.step, due.user),
        subject=subject,
        body=body,
        made_at=at,
    )
    after = {"step": due.step.code, "user": str(due.user.public_id), "deadline": str(due.deadline.public_id)}
    change_record(stamp=stamp, verb="notice_make", entity=notice, after=after)
    return notice


def message_id(deadline: Deadline, step: ReminderStep, user: User) -> str:
    """The same for the same notice, however often it is mailed."""
    return f"<fencerow.{deadline.public_id}.{step.code}.{user.public_id}@{settings.MESSAGE_ID_DOMAIN}>"


@writing()
def notice_acknowledge(*, notice: Notice, stamp: Stamp) -> Notice:
    """The reader has seen it. It stops nothing but its own mail, if that has not gone out; said twice is said once."""
    if stamp.by is None or stamp.by.pk != notice.user_id:
        raise NotAddressed("Only the person whom the notice is addressed to can say that it was read.")
    if Notice.objects.filter(pk=notice.pk, acknowledged_at__isnull=True).update(acknowledged_at=stamp.at):
        after = {"acknowledged_at": stamp.at.isoformat()}
        change_record(stamp=stamp, verb="notice_acknowledge", entity=notice, after=after)
    notice.refresh_from_db(fields=["acknowledged_at"])
    return notice
