"""Filters of lists. Each reads its text strictly and can say, for the API's description, what it takes."""

from collections.abc import Callable, Iterable
from datetime import date
from typing import Any

import django_filters
from django import forms

from orders.bodies.fields import day_read, id_read

WORD_CHARACTERS = 120


class _Read(forms.Field):
    """Text by one reader, whose ValueError is the message."""

    def __init__(self, *, reader: Callable[[str], Any], **more: Any) -> None:
        super().__init__(**more)
        self.reader = reader

    def to_python(self, value: Any) -> Any:
        if value in self.empty_values:
            return None
        try:
            return self.reader(value)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error


class _Filter(django_filters.Filter):  # type: ignore[misc]
    field_class = _Read
    reader: Callable[[str], Any]

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, reader=self.read, **more)

    def read(self, text: str) -> Any:
        raise NotImplementedError

    def schema(self) -> dict[str, Any]:
        raise NotImplementedError


class OfId(_Filter):
    """By a public id."""

    def read(self, text: str) -> Any:
        return id_read(text)

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "format": "uuid"}


class OnDay(_Filter):
    """By a day; `lookup_expr` says how."""

    def read(self, text: str) -> Any:
        return day_read(text)

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "format": "date"}


class OfWord(_Filter):
    """By a code or a name, exactly."""

    def read(self, text: str) -> str:
        if "\0" in text or len(text) > WORD_CHARACTERS:
            raise ValueError(f"must be text of at most {WORD_CHARACTERS} characters")
        return text

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "minLength": 1, "maxLength": WORD_CHARACTERS}


class AnyOf(_Filter):
    """By one or more words of a fixed list, with commas between them."""

    def __init__(self, *args: Any, words: Iterable[tuple[str, str]], **more: Any) -> None:
        self.words = [word for word, _ in words]
        super().__init__(*args, lookup_expr="in", **more)

    def read(self, text: str) -> list[str]:
        asked = text.split(",")
        if not set(asked) <= set(self.words):
            raise ValueError(f"must be of {', '.join(self.words)}")
        return asked

    def schema(self) -> dict[str, Any]:
        return {"type": "array", "items": {"type": "string", "enum": self.words}, "minItems": 1}


class YesNo(_Filter):
    def read(self, text: str) -> bool:
        if text not in {"true", "false"}:
            raise ValueError("must be true or false")
        return text == "true"

    def schema(self) -> dict[str, Any]:
        return {"type": "boolean"}


class OfYear(_Filter):
    def read(self, text: str) -> int:
        if not (len(text) == 4 and text.isascii() and text.isdigit() and text >= "1990"):
            raise ValueError("must be a year such as 2027")
        return int(text)

    def schema(self) -> dict[str, Any]:
        return {"type": "integer", "minimum": 1990, "maximum": 9999}


class Filters(django_filters.FilterSet):  # type: ignore[misc]
    """The filters of one list. `today` is set by the list: some scopes are by the day."""

    today: date
