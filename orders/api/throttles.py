"""Reads and writes are limited apart, so that a page that polls never stops a close."""

from typing import Any

from rest_framework.settings import api_settings
from rest_framework.throttling import SimpleRateThrottle

READS = {"GET", "HEAD", "OPTIONS"}


class _Throttle(SimpleRateThrottle):
    scope: str

    def get_rate(self) -> Any:
        """As the settings say now; the base class reads them once, as the program starts."""
        return api_settings.DEFAULT_THROTTLE_RATES[self.scope]

    def key_of(self, ident: Any) -> str:
        return self.cache_format % {"scope": self.scope, "ident": ident}


class _ByUser(_Throttle):
    reads: bool

    def get_cache_key(self, request: Any, view: Any) -> str | None:
        if (request.method in READS) != self.reads:
            return None
        known = request.user and request.user.is_authenticated
        return self.key_of(request.user.pk if known else self.get_ident(request))


class ReadThrottle(_ByUser):
    scope = "read"
    reads = True


class WriteThrottle(_ByUser):
    scope = "write"
    reads = False


class LoginThrottle(_Throttle):
    """By address: whoever tries to log in is not known yet."""

    scope = "login"

    def get_cache_key(self, request: Any, view: Any) -> str | None:
        return self.key_of(self.get_ident(request))


class TabletThrottle(_Throttle):
    """By tablet, reads and writes alike; a request without a token is counted by its address."""

    scope = "tablet"

    def get_cache_key(self, request: Any, view: Any) -> str | None:
        return self.key_of(getattr(request.auth, "pk", None) or self.get_ident(request))
