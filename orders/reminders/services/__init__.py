"""Writes of reminders: deadlines, notices, their mail, and the run that does all three."""

from orders.reminders.services.deadlines import Refreshed, deadlines_refresh
from orders.reminders.services.mail import HandedOver, notices_hand_over
from orders.reminders.services.notices import NotAddressed, notice_acknowledge, notices_make
from orders.reminders.services.run import Reminded, reminders_preview, reminders_run

__all__ = [
    "HandedOver",
    "NotAddressed",
    "Refreshed",
    "Reminded",
    "deadlines_refresh",
    "notice_acknowledge",
    "notices_hand_over",
    "notices_make",
    "reminders_preview",
    "reminders_run",
]
