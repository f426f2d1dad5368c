"""What an endpoint's method takes and gives, said once beside it: it is checked here and described in schema.py.

@shows(PatchOut)                      GET of one thing: ETag, and 304 for who has it already
@edits(PatchOut, body=PatchEdit)      PATCH or PUT: needs If-Match
@writes(SeasonOut, body=SeasonIn)     POST: needs an Idempotency-Key; the same key gets the same reply
@plain(status=200, gives=("image/png",))  answers by itself, with bytes or with nothing
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import TYPE_CHECKING, Any

from rest_framework.request import Request
from rest_framework.response import Response

from orders.api.replies import answer_once
from orders.api.shapes import Out
from orders.bodies.base import Body, Nothing

if TYPE_CHECKING:
    from orders.api.base import Endpoint

Queries = tuple[tuple[str, dict[str, Any], str], ...]  # name, JSON schema, what it is
Handler = Callable[..., Any]
Decorator = Callable[[Handler], Callable[..., Response]]


@dataclass(frozen=True)
class Operation:
    """`conflicts`: it can be refused because of the state that things are in (a write always can). `names_others`: its
    body names rows that may not be there. `located_at`: the endpoint that shows what was made."""

    answer: type[Out]
    status: int = 200
    body: type[Body] | None = None
    is_write: bool = False
    is_edit: bool = False
    conflicts: bool = False
    names_others: bool = False
    located_at: str = ""
    has_etag: bool = True
    also_csv: bool = False
    queries: Queries = ()
    more_statuses: tuple[int, ...] = ()


def shows(answer: type[Out], **more: Any) -> Decorator:
    operation = Operation(answer=answer, **more)

    def decorate(handler: Handler) -> Callable[..., Response]:
        @wraps(handler)
        def run(view: "Endpoint", request: Request, **ids: Any) -> Response:
            return view.shown(handler(view, **ids), operation)

        return _marked(run, operation)

    return decorate


def reports(answer: type[Out], *, queries: Queries, **more: Any) -> Decorator:
    """A GET by query, of figures that are made anew each time. Where the handler answers by itself, that stands."""
    operation = Operation(answer, queries=queries, has_etag=False, **more)

    def decorate(handler: Handler) -> Callable[..., Response]:
        @wraps(handler)
        def run(view: "Endpoint", request: Request, **ids: Any) -> Response:
            found = handler(view, **ids)
            return found if isinstance(found, Response) else view.shown(found, operation)

        return _marked(run, operation)

    return decorate


def takes(answer: type[Out], *, body: type[Body], status: int, **more: Any) -> Decorator:
    """A POST that keeps nothing by a key: logging in."""
    operation = Operation(answer, status, body, has_etag=False, **more)

    def decorate(handler: Handler) -> Callable[..., Response]:
        @wraps(handler)
        def run(view: "Endpoint", request: Request, **ids: Any) -> Response:
            view.body = view.read(body)
            return view.shown(handler(view, **ids), operation)

        return _marked(run, operation)

    return decorate


def edits(answer: type[Out], *, body: type[Body], **more: Any) -> Decorator:
    operation = Operation(answer=answer, body=body, is_edit=True, **more)

    def decorate(handler: Handler) -> Callable[..., Response]:
        @wraps(handler)
        def run(view: "Endpoint", request: Request, **ids: Any) -> Response:
            view.body = view.read(body)
            return view.shown(handler(view, **ids), operation)

        return _marked(run, operation)

    return decorate


def writes(
    answer: type[Out],
    *,
    body: type[Body] = Nothing,
    status: int = 201,
    prepare: Handler | None = None,
    **more: Any,
) -> Decorator:
    """`prepare` computes what the handler then stores, before the write lock is taken; it may read, never write."""
    operation = Operation(answer, status, body, is_write=True, **more)

    def decorate(handler: Handler) -> Callable[..., Response]:
        @wraps(handler)
        def run(view: "Endpoint", request: Request, **ids: Any) -> Response:
            def act() -> Response:
                view.body = view.read(body)
                return view.shown(handler(view, **ids), operation)

            def ready() -> None:
                view.body = view.read(body)
                prepare(view, **ids)  # type: ignore[misc]  # called only where there is one

            return answer_once(view.actor, request, act, ready if prepare else None)

        return _marked(run, operation)

    return decorate


@dataclass(frozen=True)
class Plain:
    """`gives` are the media types of what comes back. `takes_bytes`: its body is bytes of the kind that its parser
    reads. `asks` and `tells` are headers, each with what it is."""

    status: int
    gives: tuple[str, ...] = ()
    takes_bytes: bool = False
    asks: tuple[tuple[str, dict[str, Any], str], ...] = ()
    tells: tuple[tuple[str, str], ...] = ()
    queries: Queries = ()
    more_statuses: tuple[int, ...] = ()


def plain(**facts: Any) -> Callable[[Handler], Handler]:
    def decorate(handler: Handler) -> Handler:
        handler.plain = Plain(**facts)  # type: ignore[attr-defined]  # read by plain_of
        return handler

    return decorate


def plain_of(view: Any, method: str) -> Plain | None:
    return getattr(getattr(view, method.lower(), None), "plain", None)


def _marked(run: Callable[..., Response], operation: Operation) -> Callable[..., Response]:
    run.operation = operation  # type: ignore[attr-defined]  # read by operation_of
    return run


def operation_of(view: Any, method: str) -> Operation | None:
    return getattr(getattr(view, method.lower(), None), "operation", None)
