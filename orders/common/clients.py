"""Where a request comes from."""

from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str:
    """Behind our own proxy, the address that the proxy saw (the last one it added); else the peer's. What a client
    claims for itself is never believed."""
    if settings.BEHIND_TLS_PROXY and (forwarded := request.headers.get("X-Forwarded-For")):
        return forwarded.rpartition(",")[2].strip()
    return str(request.META.get("REMOTE_ADDR", ""))
