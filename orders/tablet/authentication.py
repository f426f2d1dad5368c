"""A tablet speaks for itself: by its token, whoever is using it. Each of its commands names its person."""

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework import exceptions
from rest_framework.authentication import BaseAuthentication, get_authorization_header

from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.field.models import Device
from orders.field.selectors.devices import device_by_hash, device_user_newest
from orders.field.services.devices import secret_hash

WORD = "Tablet"


class DeviceRevoked(Refusal):
    """The desk has shut this tablet out. What it holds can be saved as a file and brought in at the desk."""

    code = "device_revoked"
    title = "This tablet is revoked"
    status = 403


class DeviceExpired(Refusal):
    """The tablet's season is over. With a new code it goes on with what it holds."""

    code = "device_expired"
    title = "This tablet must be enrolled again"
    status = 403


class TabletAuthentication(BaseAuthentication):
    """`Authorization: Tablet <token>`: the user is the newest of those on the tablet, and `auth` the tablet."""

    def authenticate(self, request: Any) -> tuple[User, Device] | None:
        words = get_authorization_header(request).split()
        if not words or words[0].decode("latin-1").lower() != WORD.lower():
            return None
        token = words[1].decode("latin-1") if len(words) == 2 else ""
        device = device_by_hash(secret_hash(token))
        if device is None:
            raise exceptions.AuthenticationFailed("This tablet is not known here.", code="device_unknown")
        return _user_of(device), device

    def authenticate_header(self, request: Any) -> str:
        return WORD


class TabletIfKnown(TabletAuthentication):
    """For enrolling: a token that opens nothing any more is as good as none."""

    def authenticate(self, request: Any) -> tuple[User, Device] | None:
        try:
            return super().authenticate(request)
        except (exceptions.AuthenticationFailed, DeviceExpired, DeviceRevoked):
            return None


def _user_of(device: Device) -> User:
    user = device_user_newest(device)
    if device.revoked_at is not None or user is None:
        raise DeviceRevoked("This tablet was shut out by the desk. Save what is not sent as a file.")
    if device.expires_on < now().date():
        raise DeviceExpired("Ask the desk for a new code; what is not sent stays on the tablet until then.")
    return user


class TabletDescribed(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """For the API's description."""

    target_class = TabletAuthentication
    match_subclasses = True
    name = "tablet"

    def get_security_definition(self, auto_schema: Any) -> dict[str, Any]:
        return {"type": "apiKey", "in": "header", "name": "Authorization", "description": "`Tablet` and the token."}
