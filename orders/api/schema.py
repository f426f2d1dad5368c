"""The API's description, made from what stands beside each method: its body, its answer, and how it can be refused."""

from functools import cache
from http import HTTPStatus
from inspect import getdoc
from typing import Any, Literal

from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import ResolvedComponent
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers

from orders.api.operations import Operation, Plain, operation_of, plain_of
from orders.api.permissions import ANYONE, TABLE
from orders.api.problems import MEDIA_TYPE
from orders.api.replies import KEY_LENGTHS
from orders.bodies.base import Body

Location = Literal["query", "path", "header", "cookie"]
HEADER: Location = "header"
QUERY: Location = "query"
TEXT = {"type": "string"}


class FieldErrorOut(serializers.Serializer[Any]):
    field = serializers.CharField(help_text="Which part of the input, such as times[2].minutes.")
    code = serializers.CharField()
    message = serializers.CharField()
    row = serializers.IntegerField(required=False, help_text="Of a file or a list, as a person counts.")


class Problem(serializers.Serializer[Any]):
    """What went wrong, as RFC 9457 has it. Nothing was changed."""

    type = serializers.CharField(help_text="Where the code is explained.")
    status = serializers.IntegerField()
    code = serializers.CharField()
    title = serializers.CharField()
    detail = serializers.CharField(required=False)
    errors = FieldErrorOut(many=True, required=False)  # type: ignore[assignment]  # the metaclass takes it off again
    data = serializers.DictField(required=False)  # type: ignore[assignment]


def _parameter(name: str, location: Location, schema: dict[str, Any], about: str, **more: Any) -> OpenApiParameter:
    return OpenApiParameter(name=name, type=schema, location=location, description=about, **more)


def _response_header(name: str, about: str, status: int) -> OpenApiParameter:
    return OpenApiParameter(name=name, type=TEXT, location=HEADER, description=about, response=[status])


class ProblemSchema(AutoSchema):
    """One operation of the description."""

    view: Any  # one of ours: Endpoint or ListEndpoint

    @property
    def operation(self) -> Operation | None:
        return operation_of(self.view, self.method)

    @property
    def plain(self) -> Plain | None:
        return plain_of(self.view, self.method)

    @property
    def is_list(self) -> bool:
        return self.operation is None and self.method == "GET" and getattr(self.view, "lists", False)

    def get_operation(self, *args: Any) -> dict[str, Any] | None:
        described: dict[str, Any] | None = super().get_operation(*args)
        if described is not None:
            responses = described["responses"]
            responses |= {str(status): self._problem(status) for status in self.problem_statuses()}
            described["responses"] = dict(sorted(responses.items()))
        return described

    def get_operation_id(self) -> str:
        return f"{self.view.endpoint}-{self.method.lower()}".replace("-", "_")

    def get_tags(self) -> list[str]:
        return [self.path.split("/")[2]]

    def get_description(self) -> str:  # type: ignore[override]  # as spectacular calls it
        """What the method says of itself; a list's is said by its rows."""
        handler = self.view.rows if self.is_list else getattr(self.view, self.method.lower())
        return getdoc(handler) or ""

    def get_summary(self) -> str | None:
        return self.get_description().split("\n")[0].strip() or None

    def get_auth(self) -> list[dict[str, Any]]:
        return [] if self._roles() == ANYONE else super().get_auth()

    def _roles(self) -> frozenset[str]:
        return TABLE.get(self.view.endpoint, {}).get(self.method, frozenset())

    def _is_list_view(self, serializer: Any = None) -> bool:
        return False

    def _map_basic_serializer(self, serializer: Any, direction: str) -> dict[str, Any]:
        """Bodies refuse what they do not know."""
        described: dict[str, Any] = super()._map_basic_serializer(serializer, direction)  # type: ignore[no-untyped-call]
        if isinstance(serializer, Body):
            described["additionalProperties"] = False
        return described

    def get_request_serializer(self) -> Any:
        operation = self.operation
        if self.plain and self.plain.takes_bytes:
            return OpenApiTypes.BINARY
        return operation.body if operation else None

    def get_response_serializers(self) -> Any:
        if self.is_list:
            return {200: self._page()}
        operation, plain = self.operation, self.plain
        if plain is not None:
            return {(plain.status, media): OpenApiTypes.BINARY for media in plain.gives} or {plain.status: None}
        if operation is None:
            return {204: None}
        answers: dict[Any, Any] = {operation.status: operation.answer}
        if self.method == "GET" and operation.has_etag:
            answers[304] = None
        if operation.also_csv:
            answers = {(200, "application/json"): operation.answer, (200, "text/csv"): TEXT}
        return answers

    def _page(self) -> dict[str, Any]:
        row = self.resolve_serializer(self.view.row, "response").ref
        following = {"type": ["string", "null"], "description": "Address of the next page; null on the last."}
        properties = {"results": {"type": "array", "items": row}, "next": following}
        return {"type": "object", "required": ["results", "next"], "properties": properties}

    def get_override_parameters(self) -> list[Any]:
        operation, plain = self.operation, self.plain
        if plain is not None:
            found = [_parameter(name, HEADER, schema, about, required=True) for name, schema, about in plain.asks]
            found += [_parameter(name, QUERY, schema, about, **_array(schema)) for name, schema, about in plain.queries]
            return found + [_response_header(name, about, plain.status) for name, about in plain.tells]
        if operation is None:
            return self._list_parameters() if self.is_list else []
        found = [_parameter(name, QUERY, schema, about, **_array(schema)) for name, schema, about in operation.queries]
        found += _REQUEST_HEADERS["write"] if operation.is_write else []
        found += _REQUEST_HEADERS["edit"] if operation.is_edit else []
        found += _REQUEST_HEADERS["read"] if self.method == "GET" and operation.has_etag else []
        return found + self._response_headers(operation)

    def _list_parameters(self) -> list[OpenApiParameter]:
        filters = self.view.filters.base_filters if self.view.filters else {}
        found = [
            _parameter(
                name, QUERY, chosen.schema(), str(chosen.extra.get("help_text") or ""), **_array(chosen.schema())
            )
            for name, chosen in filters.items()
        ]
        sorts = [sign + name for name in self.view.sorts for sign in ("", "-")]
        found.append(_parameter("sort", QUERY, {**TEXT, "enum": sorts}, f"As a rule {self.view.usual_sort}."))
        found.append(_parameter("cursor", QUERY, {**TEXT, "minLength": 1}, "From `next` of the page before."))
        found.append(_parameter("limit", QUERY, {"type": "integer", "minimum": 1, "maximum": 200}, "Rows a page."))
        return [*found, _response_header("Link", "The next page, rel=next (RFC 8288).", 200)]

    def _response_headers(self, operation: Operation) -> list[OpenApiParameter]:
        found = [_response_header("ETag", "For If-None-Match and If-Match.", operation.status)] * operation.has_etag
        if operation.is_write:
            found.append(_response_header("Idempotent-Replayed", "true where this is a reply kept.", operation.status))
        if operation.located_at:
            found.append(_response_header("Location", "Where to find what was made.", operation.status))
        return found

    def _problem(self, status: int) -> dict[str, Any]:
        """A reference to the description of this kind of refusal, which all operations share."""
        reference = self.resolve_serializer(Problem, "response").ref
        described = {
            "description": HTTPStatus(status).phrase,
            "content": {MEDIA_TYPE: {"schema": reference}},
            "headers": {_HEADERS[status]: {"schema": TEXT}} if status in _HEADERS else {},
        }
        name = f"Problem{status}"
        component = ResolvedComponent(name, "responses", described, object=name)  # type: ignore[no-untyped-call]
        self.registry.register_on_missing(component)
        shared: dict[str, Any] = component.ref
        return shared

    def problem_statuses(self) -> set[int]:
        """How the operation can be refused, besides its success."""
        operation = self.operation
        statuses = {405, 406, 429}
        if self._roles() != ANYONE:
            statuses |= {401, 403}
        if "{" in self.path:
            statuses.add(404)
        if self.is_list or (operation and operation.queries):
            statuses.add(400)
        if self.plain:
            statuses |= set(self.plain.more_statuses)
        return statuses | (_write_statuses(operation) if operation else set())


def _write_statuses(operation: Operation) -> set[int]:
    statuses = set(operation.more_statuses)
    if operation.body is not None:
        statuses |= {400, 413, 415}
    if operation.is_write:
        statuses |= {400, 409, 422}
    if operation.is_edit:
        statuses |= {412, 428}
    if operation.conflicts:
        statuses.add(409)
    if operation.names_others:
        statuses.add(404)
    return statuses


_LEAST, _MOST = KEY_LENGTHS
_REQUEST_HEADERS = {
    "write": [
        _parameter(
            "Idempotency-Key",
            HEADER,
            {**TEXT, "minLength": _LEAST, "maxLength": _MOST, "pattern": "^[!-~]+$"},
            "Made anew for each request; the same key with the same request gets the same reply.",
            required=True,
        )
    ],
    "edit": [_parameter("If-Match", HEADER, TEXT, "The ETag that you read, or *.", required=True)],
    "read": [_parameter("If-None-Match", HEADER, TEXT, "The ETag that you have.")],
}


def _array(schema: dict[str, Any]) -> dict[str, Any]:
    return {"explode": False, "style": "form"} if schema.get("type") == "array" else {}


_HEADERS = {401: "WWW-Authenticate", 405: "Allow", 429: "Retry-After"}


@cache
def description() -> dict[str, Any]:
    """The whole description; it is the same for everybody, so it is made once a process."""
    made: dict[str, Any] = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    return made
