"""When a step's time has come, by the clock of the site; when a person is not to be disturbed, by their own."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from orders.reminders.models import FROM_DUE, FROM_FRUIT, LATE, Deadline, ReminderStep

# A step this far past is no news any more: nobody who joins later is told of it. Tunable, our own choice.
NEWS_DAYS = 60


def step_moment(deadline: Deadline, step: ReminderStep) -> datetime | None:
    """The instant of a step, or None where it does not apply.

    On the night when clocks go back a time that comes twice is the first of the two; on the night when they go forward
    a time that is skipped is read with the offset before the gap (RFC 5545, 3.3.5). ZoneInfo's fold=0 is both.
    """
    if step.counts_from == FROM_FRUIT:
        return deadline.known_at if deadline.state == LATE else None
    if step.counts_from != FROM_DUE:
        return deadline.known_at
    day = deadline.due_on - timedelta(days=step.days_before)
    return datetime.combine(day, step.local_time, tzinfo=ZoneInfo(deadline.time_zone)).astimezone(UTC)


def step_due(deadline: Deadline, steps: Iterable[ReminderStep], at: datetime) -> ReminderStep | None:
    """The latest step whose time has come, never one that it passed over; None where that one is not to be sent.

    Not sent are: a step from before the deadline was known, one that says how much time is left when none is, and one
    that is no news any more.
    """
    come = [(moment, step.pk, step) for step in steps if (moment := step_moment(deadline, step)) and moment <= at]
    if not come:
        return None
    moment, _, step = max(come)
    known = deadline.known_at is None or moment >= deadline.known_at
    fresh = at - moment <= timedelta(days=NEWS_DAYS)
    return step if known and fresh and not _outlived(deadline, step, at) else None


def _outlived(deadline: Deadline, step: ReminderStep, at: datetime) -> bool:
    """`Two days left`, when the due day is over at the site."""
    return step.counts_from == FROM_DUE and step.days_before >= 0 and local_today(deadline, at) > deadline.due_on


def local_today(deadline: Deadline, at: datetime) -> date:
    """The date at the site; without a site, the program's."""
    return at.astimezone(ZoneInfo(deadline.time_zone)).date()


def day_ends(deadline: Deadline) -> datetime:
    """The instant at which the due day is over at the site."""
    after = deadline.due_on + timedelta(days=1)
    return datetime.combine(after, time(0), tzinfo=ZoneInfo(deadline.time_zone)).astimezone(UTC)


def is_quiet(at: datetime, time_zone: str, quiet_from: time, quiet_until: time) -> bool:
    """Is it within the quiet hours by a clock? The first instant is, the last one is not; both alike: never.

    The hours are read off the clock itself, so that on a night when clocks change they begin and end by the clock too.
    """
    now = at.astimezone(ZoneInfo(time_zone)).time()
    if quiet_from <= quiet_until:
        return quiet_from <= now < quiet_until
    return now >= quiet_from or now < quiet_until
