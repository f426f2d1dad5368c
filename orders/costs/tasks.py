"""The nightly proof; a lost one is made good by the next."""

from celery import shared_task

from orders.common.clock import now
from orders.costs.services.proof import proof_nightly


@shared_task(name="orders.costs.tasks.proof_night")
def proof_night() -> None:
    proof_nightly(clock=now)
