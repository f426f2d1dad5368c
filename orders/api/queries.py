"""What an address is asked by its query: each name read by its own reader, every mistake named."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar
from uuid import UUID

from rest_framework.request import Request

from orders.api.base import queries_check
from orders.bodies.fields import id_read
from orders.common.errors import FieldError, Invalid

Value = TypeVar("Value")
Reader = Callable[[str], Any]
AN_ID = {"type": "string", "format": "uuid"}
A_DAY = {"type": "string", "format": "date"}


def queries_read(request: Request, readers: Mapping[str, Reader], *, wrong: str) -> dict[str, Any]:
    """By name, those that are given; a reader's ValueError is the message of its field."""
    queries_check(request, set(readers))
    read: dict[str, Any] = {}
    errors = []
    for name, text in request.query_params.items():
        try:
            read[name] = readers[name](str(text))
        except ValueError as error:
            errors.append(FieldError(name, str(error)))
    if errors:
        raise Invalid(wrong, errors)
    return read


def queries_need(read: Mapping[str, Any], names: tuple[str, ...], *, wrong: str) -> None:
    """Refuse where one of the names is not given."""
    missing = [FieldError(name, "is required", code="required") for name in names if name not in read]
    if missing:
        raise Invalid(wrong, missing)


def one_of(get: Callable[[UUID], Value], read: Mapping[str, Any], name: str) -> Value | None:
    """The row that the query names by its id, if it names one."""
    return get(read[name]) if name in read else None


def ids_read(text: str, *, most: int) -> list[UUID]:
    """Ids with commas between them, each once."""
    found = [id_read(part) for part in text.split(",")]
    if len(set(found)) < len(found):
        raise ValueError("names one twice")
    if len(found) > most:
        raise ValueError(f"must name at most {most}")
    return found
