"""When a step's time has come, by the clock of the site."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from orders.reminders.models import FROM_FRUIT, LATE, Deadline, ReminderStep

# A step this far past is no news any more: nobody who joins later is told of it. Tunable, our own choice.
NEWS_DAYS = 60


def step_moment(deadline: Deadline, step: ReminderStep) -> datetime | None:
    """The instant of a step, or None where it does not apply.

    On the night when clocks go back a time that comes twice is the first of the two; on the night when they go forward
    a time that is skipped is read with the offset before the gap (RFC 5545, 3.3.5). ZoneInfo's fold=0 is both.
    """
    if step.counts_from == FROM_FRUIT:
        return deadline.survey.recorded_at if deadline.state == LATE else None
    day = deadline.due_on - timedelta(days=step.days_before)
    zone = ZoneInfo(deadline.patch.site.time_zone)
    return datetime.combine(day, step.local_time, tzinfo=zone).astimezone(UTC)


def step_due(deadline: Deadline, steps: Iterable[ReminderStep], at: datetime) -> ReminderStep | None:
    """The latest step whose time has come, never one that it passed over; None where that one is not to be sent.

    Not sent are: a step from before the deadline was known, one that says how much time is left when none is, and one
    that is no news any more.
    """
    come = [(moment, step.pk, step) for step in steps if (moment := step_moment(deadline, step)) and moment <= at]
    if not come:
        return None
    moment, _, step = max(come)
    known = moment >= deadline.survey.recorded_at
    fresh = at - moment <= timedelta(days=NEWS_DAYS)
    return step if known and fresh and not _outlived(deadline, step, at) else None


def _outlived(deadline: Deadline, step: ReminderStep, at: datetime) -> bool:
    """`Two days left`, when the due day is over at the site."""
    today = at.astimezone(ZoneInfo(deadline.patch.site.time_zone)).date()
    return step.counts_from != FROM_FRUIT and step.days_before >= 0 and today > deadline.due_on
