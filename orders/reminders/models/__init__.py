"""What must be done by when, who is told of it and when, and the calendars that show it."""

from orders.reminders.models.calendars import CalendarFeed, CalendarItem
from orders.reminders.models.deadlines import ENDED, KINDS, LATE, MET, MISSED, OPEN, OWED, STATUTORY, Deadline
from orders.reminders.models.notices import Digest, Notice, ReminderPreference
from orders.reminders.models.steps import FROM_DUE, FROM_FRUIT, FROM_KNOWN, ReminderStep

__all__ = [
    "ENDED",
    "FROM_DUE",
    "FROM_FRUIT",
    "FROM_KNOWN",
    "KINDS",
    "LATE",
    "MET",
    "MISSED",
    "OPEN",
    "OWED",
    "STATUTORY",
    "CalendarFeed",
    "CalendarItem",
    "Deadline",
    "Digest",
    "Notice",
    "ReminderPreference",
    "ReminderStep",
]
