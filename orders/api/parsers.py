"""JSON as the standard has it, and files that came in a form. Both say no to what is too large."""

from collections.abc import Mapping
from typing import IO, Any

from django.conf import settings
from rest_framework import exceptions
from rest_framework.parsers import BaseParser, MultiPartParser

from orders.bodies.strict_json import json_read

JSON_MAX_BYTES = 2 * 1024 * 1024
FORM_ROOM_BYTES = 1024 * 1024  # for the other fields of a form beside its file


class PayloadTooLarge(exceptions.APIException):
    status_code = 413
    default_detail = "The request is too large."
    default_code = "payload_too_large"


def size_check(parser_context: Mapping[str, Any] | None, most: int) -> None:
    """The server hands over no more than Content-Length says."""
    request = (parser_context or {})["request"]
    if int(request.META.get("CONTENT_LENGTH") or 0) > most:
        raise PayloadTooLarge(f"At most {most:,} bytes are taken here.")


class StrictJSONParser(BaseParser):
    """UTF-8 (RFC 8259); no NaN, no name twice in one object, no text that is none, no bottomless nesting."""

    media_type = "application/json"
    most_bytes = JSON_MAX_BYTES

    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        size_check(parser_context, self.most_bytes)
        try:
            parsed = json_read(stream.read())
        except RecursionError as error:
            raise exceptions.ParseError("This is nested too deeply.") from error
        except ValueError as error:
            raise exceptions.ParseError(f"This is not JSON: {_told(error)}") from error
        return parsed


def _told(error: ValueError) -> str:
    return "it is not text in UTF-8." if isinstance(error, UnicodeError) else f"{error}."


class FileFormParser(MultiPartParser):
    most_setting = "SURVEY_FILE_MAX_BYTES"

    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        size_check(parser_context, getattr(settings, self.most_setting) + FORM_ROOM_BYTES)
        return super().parse(stream, media_type, parser_context)
