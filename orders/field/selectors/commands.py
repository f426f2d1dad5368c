"""Reads of what tablets sent."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from django.db.models import Q, QuerySet

from orders.common.errors import NotFound
from orders.common.models import User
from orders.field.models import Command, Device, DeviceUser


def commands() -> QuerySet[Command]:
    return Command.objects.select_related("device", "user", "order").order_by("-received_at", "-id")


def command_get(command_id: UUID) -> Command:
    found = commands().filter(public_id=command_id).first()
    if found is None:
        raise NotFound("There is no such command.")
    return found


def command_known(command_id: UUID) -> Command | None:
    return Command.objects.filter(public_id=command_id).first()


def commands_answered(ids: Iterable[UUID]) -> dict[UUID, Command]:
    """Those that have their answer: nothing more happens to it."""
    rows = Command.objects.filter(public_id__in=set(ids), answer__isnull=False)
    return {command.public_id: command for command in rows}


def command_next_waiting(device: Device) -> Command | None:
    return Command.objects.filter(device=device, state="waiting").order_by("seq", "id").first()


def has_gap_before(command: Command, next_seq: int) -> bool:
    """Whether some of the numbers from the next one up to the command's own have not come."""
    between = Command.objects.filter(device=command.device_id, seq__gte=next_seq, seq__lt=command.seq)
    return between.order_by().values("seq").distinct().count() < command.seq - next_seq


def devices_waiting(*, since: datetime) -> QuerySet[Device]:
    """Tablets with a command that has stood behind a gap for longer than it should."""
    late = Command.objects.filter(state="waiting", received_at__lte=since).order_by()
    return Device.objects.filter(pk__in=late.values("device")).order_by("id")


def was_on_device(device: Device, user: User, at: datetime) -> bool:
    """Whether the tablet was the person's when it happened; one who was taken off later was."""
    on = DeviceUser.objects.filter(Q(removed_at__isnull=True) | Q(removed_at__gte=at), device=device, user=user)
    return on.exists()
