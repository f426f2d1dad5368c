"""Session login for pages that call the API; a 401, not a 403, for who is not logged in."""

from typing import Any, NoReturn

from django.conf import settings
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework import authentication

from orders.common.errors import Refusal
from orders.common.selectors import MUST_CHOOSE


class PasswordGiven(Refusal):
    """Whoever logged in with a password that somebody else set chooses an own one first, on the desk's page."""

    code = "password_given"
    title = "Choose your own password first"
    status = 403


def given_refuse() -> NoReturn:
    raise PasswordGiven("Somebody else set this password. Log in on the pages and choose your own; then this opens.")


class SessionAuthentication(authentication.SessionAuthentication):
    def authenticate(self, request: Any) -> Any:
        found = super().authenticate(request)
        if found is not None and request._request.session.get(MUST_CHOOSE):
            given_refuse()
        return found

    def authenticate_header(self, request: Any) -> str:
        return "Session"


class SessionDescribed(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """For the API's description."""

    target_class = SessionAuthentication
    name = "session"

    def get_security_definition(self, auto_schema: Any) -> dict[str, Any]:
        return {"type": "apiKey", "in": "cookie", "name": settings.SESSION_COOKIE_NAME}
