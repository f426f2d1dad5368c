"""The wake-up that the beat sends every few minutes; a lost one is made good by the next."""

from celery import shared_task

from orders.common.clock import now
from orders.reminders.services import reminders_run


@shared_task(name="orders.reminders.tasks.reminders_step")
def reminders_step() -> None:
    reminders_run(at=now(), clock=now)
