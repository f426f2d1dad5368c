"""The look at who is outside that the beat asks for every minute; a lost one is made good by the next."""

from celery import shared_task

from orders.common.clock import now
from orders.field.services.overdue import overdue_watch


@shared_task(name="orders.field.tasks.overdue_look")
def overdue_look() -> None:
    overdue_watch(at=now(), clock=now)
