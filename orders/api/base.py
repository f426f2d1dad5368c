"""What every endpoint shares: who asks and when, the body, ETags."""

import hashlib
from datetime import date
from typing import Any, ClassVar
from urllib.parse import quote

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse
from django.utils.http import parse_etags
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from orders.api.operations import Operation, operation_of
from orders.api.renderers import Negotiation
from orders.api.shapes import Out
from orders.bodies.base import Body
from orders.common.clock import now
from orders.common.errors import FieldError, Invalid, PreconditionMissing, VersionMismatch
from orders.common.models import User
from orders.common.stamp import Stamp


class Endpoint(APIView):
    """One address. `endpoint` names its row in the table of permissions, and its URL."""

    endpoint: ClassVar[str]
    content_negotiation_class = Negotiation
    body: dict[str, Any]

    def initialize_request(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Request:
        request.encoding = "utf-8"  # a client's charset must not decide how the address is read
        return super().initialize_request(request, *args, **kwargs)

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        response.headers.setdefault("Cache-Control", "private, no-cache")
        return super().finalize_response(request, response, *args, **kwargs)

    def options(self, request: Any, *args: Any, **kwargs: Any) -> Response:
        return Response(status=204)  # the Allow header says it all

    @property
    def actor(self) -> User:
        user = self.request.user
        assert isinstance(user, User)  # the permission table lets nobody else through
        return user

    @property
    def today(self) -> date:
        """Of the program: memberships and scopes are by its day."""
        return self.stamp().local_date(settings.PROGRAM_TIME_ZONE)

    def stamp(self, reason: str = "") -> Stamp:
        return Stamp(by=self.actor, at=now(), reason=reason)

    def read(self, body: type[Body]) -> dict[str, Any]:
        """The request's body, checked by its serializer."""
        checked = body(data=self.request.data)
        checked.is_valid(raise_exception=True)
        return dict(checked.validated_data)

    def translated(self, row: Any, answer: type[Out]) -> Any:
        user = self.request.user
        return answer(row, context={"actor": user if isinstance(user, User) else None}).data

    def shown(self, row: Any, operation: Operation) -> Response:
        """The row as the operation answers; a reader who has it already gets 304 and no body."""
        body = self.translated(row, operation.answer)
        headers = {"ETag": etag(body)} if operation.has_etag else {}
        if operation.located_at:
            headers["Location"] = reverse(f"api:{operation.located_at}", args=[row.public_id])
        if self.request.method in {"GET", "HEAD"} and has_already(self.request, headers.get("ETag")):
            return Response(status=304, headers=headers)
        return Response(body, status=operation.status, headers=headers)

    def version_named(self, row: Any) -> int:
        """The version that an edit builds on, as If-Match names it: 428 without, 412 where the row has moved on."""
        self.current_check(row)
        return int(row.version)

    def current_check(self, row: Any) -> None:
        """The same for a row that has no version."""
        named = self.request.headers.get("If-Match")
        if named is None:
            raise PreconditionMissing("Send If-Match with the ETag that you read.")
        operation = operation_of(self, self.request.method or "")
        assert operation is not None
        current = etag(self.translated(row, operation.answer))
        if named.strip() != "*" and current not in parse_etags(named):
            raise VersionMismatch("This has changed since you read it. Read it again.", data={"etag": current})


def etag(body: Any) -> str:
    """A strong validator: of what is shown, to whom it is shown."""
    return f'"{hashlib.sha256(JSONRenderer().render(body)).hexdigest()[:24]}"'


def has_already(request: Request, current: str | None) -> bool:
    if current is None:
        return False
    named = request.headers.get("If-None-Match", "")
    return named.strip() == "*" or current in {tag.removeprefix("W/") for tag in parse_etags(named)}


def queries_check(request: Request, known: set[str]) -> None:
    """Refuse what the address does not know, what is empty, and what is said twice."""
    errors = []
    for name, values in request.query_params.lists():
        shown = quote(name[:60], safe="[]")
        if name not in known:
            errors.append(FieldError(shown, "is not known here", code="unknown"))
        elif len(values) > 1:
            errors.append(FieldError(shown, "is given twice", code="duplicate"))
        elif values[0] == "":
            errors.append(FieldError(shown, "is empty; leave it out or give a value", code="blank"))
    if errors:
        raise Invalid("The list cannot be asked for that way.", errors)
