"""Notices: one row a deadline, step and person, and the reader's word that it was read or is put off."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from typing import NamedTuple

from django.conf import settings

from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid, Refusal, WrongState
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.reminders.audience import Audience, reaches
from orders.reminders.letters import notice_words
from orders.reminders.models import Deadline, Notice, ReminderStep
from orders.reminders.moments import NEWS_DAYS, day_ends, step_due
from orders.reminders.selectors import deadlines_to_tell, steps_active

SNOOZE_MOST = timedelta(days=14)  # tunable, our own choice


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
    """For each deadline that is owed and each person, the latest step for that person whose time has come, once.

    A late run makes only that one, never those that it passed over. Looked for without a lock, and once more under it
    if there is any, so that two runs at once make each once.
    """
    if next(_due(at), None) is None:
        return []
    with writing():
        return [_notice_add(due, at, stamp) for due in list(_due(at))]


def _due(at: datetime) -> Iterator[_Due]:
    steps: dict[str, list[ReminderStep]] = defaultdict(list)
    for active in steps_active():
        steps[active.kind].append(active)
    near = _near([step for some in steps.values() for step in some], at)
    told = [deadline for deadline in near if any(step_due(deadline, [step], at) for step in steps[deadline.kind])]
    audience, history = Audience(told), _History(told)
    for deadline in told:
        for user, flags in audience.of(deadline, at):
            own = [step for step in steps[deadline.kind] if reaches(step, flags)]
            step = step_due(deadline, own, at)
            if step and history.lets(deadline, step, user):
                yield _Due(deadline, step, user)


def _near(steps: list[ReminderStep], at: datetime) -> Iterator[Deadline]:
    """Owed deadlines of which some step may have come and still be news; a day of room on both sides for the zones."""
    days = [step.days_before for step in steps]
    before, after = max([0, *days]), -min([0, *days])
    news = timedelta(days=NEWS_DAYS)
    day = timedelta(days=1)
    yield from deadlines_to_tell(
        due_from=at.date() - news - (after + 1) * day, due_to=at.date() + (before + 1) * day, known_from=at - news
    )


class _History:
    """What was made and acknowledged so far of some deadlines, read once."""

    def __init__(self, deadlines: Iterable[Deadline]) -> None:
        made = Notice.objects.filter(deadline__in=[deadline.pk for deadline in deadlines]).order_by()
        self._made: set[tuple[int, int, int]] = set()
        self._read: dict[int, set[tuple[int, int]]] = defaultdict(set)  # deadline -> (user, rung)
        columns = ("deadline_id", "step_id", "user_id", "step__rung", "acknowledged_at")
        for deadline, step, user, rung, acknowledged_at in made.values_list(*columns):
            self._made.add((deadline, step, user))
            if acknowledged_at is not None:
                self._read[deadline].add((user, rung))

    def lets(self, deadline: Deadline, step: ReminderStep, user: User) -> bool:
        """Not made yet, and not stopped by somebody's word."""
        if (deadline.pk, step.pk, user.pk) in self._made:
            return False
        read = self._read[deadline.pk]
        if step.until_acknowledged and (user.pk, step.rung) in read:
            return False
        return not (step.escalates and any(rung == step.rung - 1 for _, rung in read))


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


def message_id(deadline: Deadline, step: ReminderStep, user: User, snoozes: int = 0) -> str:
    """The same for the same notice, however often it is mailed; another one each time that it was put off."""
    again = f".again{snoozes}" if snoozes else ""
    return f"<fencerow.{deadline.public_id}.{step.code}.{user.public_id}{again}@{settings.MESSAGE_ID_DOMAIN}>"


@writing()
def notice_acknowledge(*, notice: Notice, stamp: Stamp) -> Notice:
    """The reader has seen it. Steps that say so are not sent after it; said twice is said once."""
    _reader_check(notice, stamp)
    if Notice.objects.filter(pk=notice.pk, acknowledged_at__isnull=True).update(acknowledged_at=stamp.at):
        after = {"acknowledged_at": stamp.at.isoformat()}
        change_record(stamp=stamp, verb="notice_acknowledge", entity=notice, after=after)
    notice.refresh_from_db(fields=["acknowledged_at"])
    return notice


@writing()
def notice_snooze(*, notice: Notice, until: datetime, stamp: Stamp) -> Notice:
    """Put off to a moment: then it is open again, and mailed again under a Message-ID of its own.

    It moves this notice alone: the next step comes when it comes. Not for longer than two weeks, nor past the due day
    where a rule of a state set it.
    """
    _reader_check(notice, stamp)
    notice.refresh_from_db(fields=["acknowledged_at", "snoozes"])
    if notice.acknowledged_at is not None:
        raise WrongState("It is acknowledged already.")
    _snooze_check(notice.deadline, until, stamp)
    snoozes = notice.snoozes + 1
    values = {
        "snoozed_until": until,
        "snoozes": snoozes,
        "message_id": message_id(notice.deadline, notice.step, notice.user, snoozes),
        "handed_over_at": None,
        "claimed_at": None,
        "digest": None,
        "mail_attempts": 0,
    }
    if Notice.objects.filter(pk=notice.pk, acknowledged_at__isnull=True, snoozes=notice.snoozes).update(**values) != 1:
        raise WrongState("It was put off or acknowledged by another request just now.")
    for name, value in values.items():
        setattr(notice, name, value)
    after = {"snoozed_until": until.isoformat()}
    change_record(stamp=stamp, verb="notice_snooze", entity=notice, after=after)
    return notice


def _reader_check(notice: Notice, stamp: Stamp) -> None:
    if stamp.by is None or stamp.by.pk != notice.user_id:
        raise NotAddressed("Only the person whom the notice is addressed to can say that it was read or is put off.")


def _snooze_check(deadline: Deadline, until: datetime, stamp: Stamp) -> None:
    message = ""
    if until <= stamp.at:
        message = "must lie ahead"
    elif until > stamp.at + SNOOZE_MOST:
        message = f"must be within {SNOOZE_MOST.days} days"
    elif deadline.is_statutory and until >= day_ends(deadline):
        message = f"must not be after the due day, {deadline.due_on}: a rule sets it"
    if message:
        raise Invalid("It cannot be put off to that moment.", [FieldError("until", message)])
