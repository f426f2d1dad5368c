"""Reading a program's JSON documents: every complaint names the file, the entry and the field."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any, NoReturn, TypeVar

from orders.common.errors import FieldError, Invalid

Read = TypeVar("Read")
Otherwise = TypeVar("Otherwise")
REFUSED = "The program was not loaded."


class Misread(Invalid):
    """A mistake that is found in the document itself, with its place; a verb's own refusal has none yet."""


class Entry:
    """One entry of a list in a document, read field by field; a field that nobody reads is a mistake in the file."""

    def __init__(self, file: str, place: str, number: int, values: Any) -> None:
        self.file, self.place, self.number = file, place, number
        if not isinstance(values, dict):
            self.values: Mapping[str, Any] = {}
            self.refuse("", "must be an object with named fields.")
        self.values = values
        self.read: set[str] = set()

    def get(self, name: str, read: Callable[[Any], Read]) -> Read:
        """The field as `read` understands it; it must be there."""
        self.read.add(name)
        if self.values.get(name) is None:
            self.refuse(name, "is missing.")
        try:
            return read(self.values[name])
        except ValueError as error:
            self.refuse(name, str(error))

    def may(self, name: str, read: Callable[[Any], Read], otherwise: Otherwise) -> Read | Otherwise:
        """The same for a field that may be left out, or be null."""
        self.read.add(name)
        return otherwise if self.values.get(name) is None else self.get(name, read)

    def parts(self, name: str) -> list["Entry"]:
        """The entries of a list within this entry."""
        place = f"{self.place} {self.number}: {name}"
        return [Entry(self.file, place, number, values) for number, values in self._numbered(name)]

    def _numbered(self, name: str) -> Iterator[tuple[int, Any]]:
        return enumerate(self.may(name, listed, []), start=1)

    def done(self) -> None:
        """Refuse what was not read: a misspelled field would be lost in silence."""
        for name in sorted(set(self.values) - self.read):
            self.refuse(name, "is no field of this entry.")

    def refuse(self, field: str, message: str) -> NoReturn:
        raise Misread(REFUSED, errors=[self._located(FieldError(field, message))])

    def located(self, refusal: Invalid) -> Misread:
        """A refusal of a verb, with the place in the file at which it arose."""
        errors = refusal.errors or [FieldError("", refusal.detail)]
        return Misread(REFUSED, errors=[self._located(_with_part(error)) for error in errors])

    def _located(self, error: FieldError) -> FieldError:
        field = f"{self.file}: {self.place}.{error.field}".rstrip(".")
        return replace(error, field=field, row=self.number)


def _with_part(error: FieldError) -> FieldError:
    """The number of a part goes into the words: the row is the entry's."""
    return error if error.row is None else replace(error, message=f"part {error.row}: {error.message}")


class Rows:
    """Rows added so far, by list and key, so that a later entry can name them."""

    def __init__(self) -> None:
        self._kept: dict[str, dict[str, Any]] = {}

    def keep(self, name: str, key: str, row: Any) -> None:
        self._kept.setdefault(name, {})[key] = row

    def one(self, name: str) -> Callable[[Any], Any]:
        """A reader that takes a key and gives its row."""
        kept = self._kept.get(name, {})

        def read(key: Any) -> Any:
            if not isinstance(key, str) or key not in kept:
                raise ValueError(f"there is no {key!r} among the {name.replace('_', ' ')}.")
            return kept[key]

        return read


def document(folder: Path, file: str) -> dict[str, Any]:
    """The parsed document, an object at its top."""
    try:
        content = json.loads((folder / file).read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise Misread(REFUSED, errors=[FieldError(file, f"there is no such file in {folder.name}.")]) from None
    except (ValueError, OSError) as error:
        raise Misread(REFUSED, errors=[FieldError(file, f"cannot be read as JSON: {error}.")]) from error
    if not isinstance(content, dict):
        raise Misread(REFUSED, errors=[FieldError(file, "must hold an object with named lists.")])
    return content


def file_text(folder: Path, file: str, field: str, name: str) -> str:
    """The text of a file that a field of a document names."""
    try:
        return file_bytes(folder, file, field, name).decode("utf-8")
    except UnicodeDecodeError as error:
        raise _unread(file, field, name, "it is not UTF-8") from error


def file_bytes(folder: Path, file: str, field: str, name: str) -> bytes:
    try:
        return (folder / name).read_bytes()
    except OSError as error:
        raise _unread(file, field, name, str(error.strerror)) from error


def _unread(file: str, field: str, name: str, why: str) -> Misread:
    return Misread(REFUSED, errors=[FieldError(f"{file}: {field}", f"cannot read {name}: {why}.")])


def no_other_lists(file: str, content: Mapping[str, Any], known: Iterable[str]) -> None:
    for name in sorted(set(content) - set(known)):
        raise Misread(REFUSED, errors=[FieldError(f"{file}: {name}", "is no list of this document.")])


def text(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError("must be text.")
    return value


def texts(value: Any) -> tuple[str, ...]:
    return tuple(text(one) for one in listed(value))


def listed(value: Any) -> list[Any]:
    if not isinstance(value, list):
        raise ValueError("must be a list.")
    return value


def flag(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError("must be true or false.")
    return value


def whole(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueError("must be a whole number.")
    return value


def number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("must be a number.")
    return float(value)


def numbers(value: Any) -> dict[str, float]:
    if not isinstance(value, dict):
        raise ValueError("must be an object of numbers.")
    return {name: number(one) for name, one in value.items()}


def exact(value: Any) -> Decimal:
    """A decimal written as text, or a whole number: a binary fraction is not exact."""
    if isinstance(value, str) or (isinstance(value, int) and not isinstance(value, bool)):
        try:
            return Decimal(value)
        except InvalidOperation:
            pass
    raise ValueError("must be a decimal written as text, such as '12.5'.")


def day(value: Any) -> date:
    try:
        return date.fromisoformat(text(value))
    except ValueError:
        raise ValueError("must be a date as in '2027-02-28'.") from None


def month_day(value: Any) -> tuple[int, int]:
    pair = [whole(one) for one in listed(value)]
    if len(pair) != 2:
        raise ValueError("must be a month and a day, as in [9, 15].")
    return pair[0], pair[1]


def anything(value: Any) -> Any:
    """For what the verb itself checks, such as a GeoJSON geometry."""
    return value
