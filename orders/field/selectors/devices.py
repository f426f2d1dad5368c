"""Reads of tablets and of who is on them."""

from uuid import UUID

from django.db.models import Prefetch, QuerySet

from orders.common.errors import NotFound
from orders.common.models import User
from orders.field.models import Device, DeviceUser


def devices() -> QuerySet[Device]:
    """All tablets, each with those who are on it now as `users_now`."""
    now_on = DeviceUser.objects.filter(removed_at__isnull=True).select_related("user").order_by("added_at", "id")
    rows = Device.objects.select_related("revoked_by")
    return rows.prefetch_related(Prefetch("device_users", queryset=now_on, to_attr="users_now")).order_by("name", "id")


def device_get(device_id: UUID) -> Device:
    found = devices().filter(public_id=device_id).first()
    if found is None:
        raise NotFound("There is no such tablet.")
    return found


def device_by_hash(token_sha256: str) -> Device | None:
    return Device.objects.filter(token_sha256=token_sha256).first()


def device_user_newest(device: Device) -> User | None:
    """Whom requests of the tablet count for, where no command names somebody."""
    rows = DeviceUser.objects.filter(device=device, removed_at__isnull=True, user__is_active=True)
    newest = rows.select_related("user").order_by("-added_at", "-id").first()
    return newest.user if newest else None


def user_by_id(user_id: UUID) -> User:
    found = User.objects.filter(public_id=user_id).first()
    if found is None:
        raise NotFound("There is no such user.")
    return found
