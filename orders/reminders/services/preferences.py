"""How a person is told, and the schedule that all are told by."""

from datetime import time
from typing import Any
from zoneinfo import available_timezones

from orders.common.errors import FieldError, Invalid
from orders.common.models import User
from orders.common.rows import row_add, row_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.reminders.models import ReminderPreference, ReminderStep
from orders.reminders.selectors import reminder_preference


@writing()
def reminder_preference_edit(*, user: User, expected: int, values: dict[str, Any], stamp: Stamp) -> ReminderPreference:
    """A person's own choice: clock, quiet hours, and how many notices at once come in one mail."""
    row = reminder_preference(user)
    _check({name: getattr(row, name) for name in ("time_zone", "quiet_from", "quiet_until")} | values)
    if row._state.adding:
        for name, value in values.items():
            setattr(row, name, value)
        return row_add(row, stamp=stamp, verb="reminder_preference_add")
    return row_edit(row, stamp=stamp, verb="reminder_preference_edit", expected=expected, values=values)


def _check(values: dict[str, Any]) -> None:
    errors = []
    zone: str = values["time_zone"]
    if zone and zone not in available_timezones():
        errors.append(FieldError("time_zone", f"{zone} is no zone that is known here, such as America/New_York."))
    quiet_from: time | None = values["quiet_from"]
    if (quiet_from is None) != (values["quiet_until"] is None):
        errors.append(FieldError("quiet_until", "Give both ends of the quiet hours, or neither."))
    if errors:
        raise Invalid("The choice was not kept.", errors)


@writing()
def reminder_step_edit(*, step: ReminderStep, expected: int, values: dict[str, Any], stamp: Stamp) -> ReminderStep:
    """Change when a step comes, whom it tells and in which words, or switch it off; none is deleted."""
    told = [getattr(step, flag) if flag not in values else values[flag] for flag in AUDIENCES]
    if not any(told):
        raise Invalid("The step was not changed.", [FieldError("to_coordinators", "A step tells somebody.")])
    return row_edit(step, stamp=stamp, verb="reminder_step_edit", expected=expected, values=values)


AUDIENCES = ("to_coordinators", "to_leads", "to_supervisors", "to_person")
