"""JSON as the standard has it, and files that came in a form. Both say no to what is too large."""

import json
from collections.abc import Mapping
from typing import IO, Any

from django.conf import settings
from rest_framework import exceptions
from rest_framework.parsers import BaseParser, MultiPartParser

JSON_MAX_BYTES = 2 * 1024 * 1024
FORM_ROOM_BYTES = 1024 * 1024  # for the other fields of a form beside its file


class PayloadTooLarge(exceptions.APIException):
    status_code = 413
    default_detail = "The request is too large."
    default_code = "payload_too_large"


def _size_check(parser_context: Mapping[str, Any] | None, most: int) -> None:
    """The server hands over no more than Content-Length says."""
    request = (parser_context or {})["request"]
    if int(request.META.get("CONTENT_LENGTH") or 0) > most:
        raise PayloadTooLarge(f"At most {most:,} bytes are taken here.")


class StrictJSONParser(BaseParser):
    """UTF-8 (RFC 8259); no NaN, no name twice in one object, no text that is none, no bottomless nesting."""

    media_type = "application/json"

    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        _size_check(parser_context, JSON_MAX_BYTES)
        try:
            text = stream.read().decode("utf-8")
            parsed = json.loads(text, parse_constant=_refuse_constant, object_pairs_hook=_object)
            if "\\u" in text:
                json.dumps(parsed, ensure_ascii=False).encode("utf-8")  # half a surrogate pair is no text
        except RecursionError as error:
            raise exceptions.ParseError("This is nested too deeply.") from error
        except ValueError as error:
            raise exceptions.ParseError(f"This is not JSON: {_told(error)}") from error
        return parsed


def _told(error: ValueError) -> str:
    return "it is not text in UTF-8." if isinstance(error, UnicodeError) else f"{error}."


def _refuse_constant(name: str) -> Any:
    raise ValueError(f"{name} is no number")


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        raise ValueError("an object holds a name twice")
    return found


class FileFormParser(MultiPartParser):
    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        _size_check(parser_context, settings.SURVEY_FILE_MAX_BYTES + FORM_ROOM_BYTES)
        return super().parse(stream, media_type, parser_context)
