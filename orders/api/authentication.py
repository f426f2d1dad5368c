"""Session login for pages that call the API; a 401, not a 403, for who is not logged in."""

from typing import Any

from django.conf import settings
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework import authentication


class SessionAuthentication(authentication.SessionAuthentication):
    def authenticate_header(self, request: Any) -> str:
        return "Session"


class SessionDescribed(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """For the API's description."""

    target_class = SessionAuthentication
    name = "session"

    def get_security_definition(self, auto_schema: Any) -> dict[str, Any]:
        return {"type": "apiKey", "in": "cookie", "name": settings.SESSION_COOKIE_NAME}
