"""Writes of reminders: deadlines, notices, their mail, calendars, and the run that does all of it."""

from orders.reminders.services.calendars import (
    calendar_feed_make,
    calendar_feed_revoke,
    calendars_refresh,
    secret_hash,
)
from orders.reminders.services.deadlines import Refreshed, deadlines_refresh
from orders.reminders.services.mail import HandedOver, notices_hand_over
from orders.reminders.services.notices import NotAddressed, notice_acknowledge, notice_snooze, notices_make
from orders.reminders.services.owed import OwedRefreshed, owed_refresh
from orders.reminders.services.preferences import reminder_preference_edit, reminder_step_edit
from orders.reminders.services.run import Reminded, reminders_preview, reminders_run

__all__ = [
    "HandedOver",
    "NotAddressed",
    "OwedRefreshed",
    "Refreshed",
    "Reminded",
    "calendar_feed_make",
    "calendar_feed_revoke",
    "calendars_refresh",
    "deadlines_refresh",
    "notice_acknowledge",
    "notice_snooze",
    "notices_hand_over",
    "notices_make",
    "owed_refresh",
    "reminder_preference_edit",
    "reminder_step_edit",
    "reminders_preview",
    "reminders_run",
    "secret_hash",
]
