"""What waits behind a number that has not come is applied after a while, even if its tablet never calls again."""

from datetime import timedelta

from celery import shared_task

from orders.commands.queue import queue_drain
from orders.common.clock import now
from orders.field.selectors.commands import devices_waiting
from orders.field.selectors.policy import field_policy


@shared_task(name="orders.commands.tasks.gaps_look")
def gaps_look() -> int:
    """Returns how many commands were applied."""
    at = now()
    late = devices_waiting(since=at - timedelta(minutes=field_policy().gap_minutes))
    return sum(1 for device in late for _ in queue_drain(device=device, at=at))
