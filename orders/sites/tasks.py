"""The wake-ups that the beat sends; a lost one is made good by the next."""

from celery import shared_task

from orders.common.clock import now
from orders.sites.services.survey_files import survey_files_clean


@shared_task(name="orders.sites.tasks.survey_files_clean")
def survey_files_clean_step() -> None:
    survey_files_clean(at=now())
