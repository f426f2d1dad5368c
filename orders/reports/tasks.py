"""The wake-ups that the beat sends; a lost one is made good by the next."""

from celery import shared_task

from orders.common.clock import now
from orders.reports.keeping import exports_remove_old
from orders.reports.mail import report_mails_send
from orders.reports.services import schedules_run


@shared_task(name="orders.reports.tasks.schedules_step")
def schedules_step() -> None:
    schedules_run(at=now())
    report_mails_send(clock=now)


@shared_task(name="orders.reports.tasks.exports_clean")
def exports_clean() -> None:
    exports_remove_old(at=now())
