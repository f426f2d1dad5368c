"""Logging in for programs and tablets: a token for a name and password, and who one is."""

from typing import Any

from django.conf import settings
from django.contrib.auth import authenticate, user_logged_in
from knox.models import AuthToken
from rest_framework import exceptions, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from orders.api.authentication import given_refuse
from orders.api.base import Endpoint
from orders.api.operations import shows, takes
from orders.api.problems import WAIT
from orders.api.shapes import Out, Row
from orders.api.throttles import LoginThrottle
from orders.bodies.base import Body
from orders.bodies.fields import Text
from orders.common.clock import now
from orders.common.errors import NotFound, Refusal
from orders.common.models import User
from orders.common.selectors import password_is_given
from orders.crews.selectors import memberships_of


class LoginLocked(Refusal):
    """Too many failed logins by this name from this address. It opens again by itself after a while."""

    code = "login_locked"
    title = "Too many failed logins"
    status = 429


class Login(Body):
    username = Text(max_length=150)
    password = Text(max_length=200, trim_whitespace=False)


class TokenOut(Out):
    token = serializers.CharField(help_text="Shown once. Send it as `Authorization: Token ...`.")
    expires_at = serializers.DateTimeField(allow_null=True)


class OwnCrew(Out):
    id = serializers.UUIDField(source="crew.public_id")
    name = serializers.CharField(source="crew.name")
    is_lead = serializers.BooleanField()


class MeOut(Row):
    username = serializers.CharField()
    name = serializers.CharField(source="get_full_name")
    email = serializers.CharField()
    roles = serializers.ListField(child=serializers.CharField(), source="role_list")
    crews = OwnCrew(many=True)


class Tokens(Endpoint):
    endpoint = "tokens"
    authentication_classes = ()
    throttle_classes = (LoginThrottle,)

    @takes(TokenOut, body=Login, status=201, more_statuses=(401, 403))
    def post(self) -> dict[str, Any]:
        """Log in: a token for a name and password."""
        user = login_check(self.request, **self.body)
        if password_is_given(user):
            given_refuse()
        token, text = token_give(user)
        user_logged_in.send(sender=User, request=self.request._request, user=user)
        return {"token": text, "expires_at": token.expiry}

    def get_authenticate_header(self, request: Request) -> str:
        return "Token"


class TokenCurrent(Endpoint):
    endpoint = "token-current"

    def delete(self, request: Request) -> Response:
        """Log out: the token that this request came with is void from now on."""
        if not isinstance(request.auth, AuthToken):
            raise NotFound("This request came without a token.")
        request.auth.delete()
        return Response(status=204)


class Me(Endpoint):
    endpoint = "me"

    @shows(MeOut)
    def get(self) -> dict[str, Any]:
        """Who is asking: name, roles and crews."""
        own = {name: getattr(self.actor, name) for name in ("public_id", "username", "get_full_name", "email")}
        return own | {"role_list": sorted(self.actor.role_codes), "crews": memberships_of(self.actor, self.today)}


def login_check(request: Request, *, username: str, password: str) -> User:
    """The user of a name and password. Failures are counted, and after too many the door stays shut for a while."""
    plain = request._request
    user = authenticate(plain, username=username, password=password)
    if getattr(plain, "axes_locked_out", False):
        seconds = int(settings.AXES_COOLOFF_TIME.total_seconds())
        raise LoginLocked("Too many failed logins. Try again later.", data={WAIT: seconds})
    if not isinstance(user, User):
        raise exceptions.AuthenticationFailed("The name and the password do not belong together.")
    return user


def token_give(user: User) -> tuple[AuthToken, str]:
    """A new token; the oldest give way where there are too many."""
    most: int = settings.REST_KNOX["TOKEN_LIMIT_PER_USER"]  # type: ignore[assignment]  # a table of several types
    tokens = AuthToken.objects.filter(user=user).order_by("-created", "-pk")
    for old in [*tokens.filter(expiry__lt=now()), *tokens[most - 1 :]]:
        old.delete()
    made: tuple[AuthToken, str] = AuthToken.objects.create(user)
    return made
