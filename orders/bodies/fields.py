"""What a request may hold: JSON types as they are, no guessing: "3" is no number, nor is a time without offset one."""

import math
import re
from collections.abc import Callable
from datetime import UTC, date, datetime, time
from decimal import Decimal, InvalidOperation
from typing import Any, TypeVar
from uuid import UUID

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.utils import html

Value = TypeVar("Value")

INT32 = 2**31 - 1
FIRST_DAY, LAST_DAY = date(1990, 1, 1), date(2200, 12, 31)
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
# RFC 3339 section 5.6: the offset is part of the instant; T and Z may be in lower case
MOMENT = re.compile(
    r"([0-9]{4}-[0-9]{2}-[0-9]{2})[Tt]([0-9]{2}:[0-9]{2}:[0-9]{2}(?:\.[0-9]+)?)([Zz]|[+-][0-9]{2}:[0-9]{2})"
)
CLOCK = re.compile(r"(?:[01][0-9]|2[0-3]):[0-5][0-9]")
EXACT = re.compile(r"-?[0-9]{1,10}(?:\.[0-9]{1,4})?")
ID = re.compile(r"[0-9A-Fa-f]{8}(?:-[0-9A-Fa-f]{4}){3}-[0-9A-Fa-f]{12}")


def day_read(text: str) -> date:
    """A full date as RFC 3339 writes it; ValueError with the reason for anything else."""
    if not DAY.fullmatch(text):
        raise ValueError("must be a day such as 2027-02-10")
    day = date.fromisoformat(text)
    if not FIRST_DAY <= day <= LAST_DAY:
        raise ValueError(f"must be from {FIRST_DAY} to {LAST_DAY}")
    return day


def moment_read(text: str) -> datetime:
    """An instant with its offset, in UTC; ValueError with the reason for anything else."""
    parts = MOMENT.fullmatch(text)
    if parts is None:
        raise ValueError("must be an instant with its offset, such as 2027-02-10T14:05:00-05:00")
    day, clock, offset = parts.groups()
    offset = "+00:00" if offset in "Zz" else offset
    moment = datetime.fromisoformat(f"{day}T{clock[:15]}{offset}")
    day_read(day)
    return moment.astimezone(UTC)


def id_read(text: str) -> UUID:
    if not ID.fullmatch(text):
        raise ValueError("must be a UUID with its hyphens")
    return UUID(text)


class Strict:
    """Takes one JSON type only. Mixed in before the field that knows the rest."""

    json_type: type | tuple[type, ...] = str
    wanted = "must be text"

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, bool) != (self.json_type is bool) or not isinstance(data, self.json_type):
            raise serializers.ValidationError(self.wanted)
        return super().to_internal_value(data)  # type: ignore[misc]


class Text(Strict, serializers.CharField):
    """Text without its outer spaces; blank only where the field allows it."""


class Choice(Strict, serializers.ChoiceField):
    """One of some words."""


class Flag(Strict, serializers.BooleanField):
    json_type = bool
    wanted = "must be true or false"


class Whole(Strict, serializers.IntegerField):
    json_type = (int, float)
    wanted = "must be a whole number"

    def __init__(self, *, min_value: int = 0, max_value: int = INT32, **more: Any) -> None:
        super().__init__(min_value=min_value, max_value=max_value, **more)

    def to_internal_value(self, data: Any) -> int:
        if isinstance(data, float) and not (math.isfinite(data) and data.is_integer()):
            raise serializers.ValidationError(self.wanted)
        return int(super().to_internal_value(int(data) if isinstance(data, float) else data))


class Cents(Whole):
    def __init__(self, *, max_value: int = 10**13, **more: Any) -> None:
        super().__init__(max_value=max_value, **more)


class Number(Strict, serializers.FloatField):
    json_type = (int, float)
    wanted = "must be a number"

    def __init__(self, *, min_value: float, max_value: float, **more: Any) -> None:
        super().__init__(min_value=min_value, max_value=max_value, **more)

    def to_internal_value(self, data: Any) -> float:
        try:
            return float(super().to_internal_value(data))
        except OverflowError as error:
            raise serializers.ValidationError(self.wanted) from error


@extend_schema_field({"type": "string", "pattern": f"^{EXACT.pattern}$"})
class Exact(Strict, serializers.DecimalField):
    """A decimal as text, so that no float comes between what was typed and what is stored."""

    wanted = 'must be a decimal as text, such as "0.5"'

    def __init__(self, *, max_digits: int = 14, decimal_places: int = 4, **more: Any) -> None:
        super().__init__(max_digits=max_digits, decimal_places=decimal_places, **more)

    def to_internal_value(self, data: Any) -> Decimal:
        if isinstance(data, str) and not EXACT.fullmatch(data):
            raise serializers.ValidationError(self.wanted)
        try:
            return Decimal(super().to_internal_value(data))
        except InvalidOperation as error:
            raise serializers.ValidationError(self.wanted) from error


class Id(Strict, serializers.UUIDField):
    wanted = "must be a UUID"

    def get_value(self, dictionary: Any) -> Any:
        """A part of a form that is sent empty is no part left out."""
        if html.is_html_input(dictionary) and dictionary.get(self.field_name) == "":
            return ""
        return super().get_value(dictionary)

    def to_internal_value(self, data: Any) -> UUID:
        return _read(id_read, data, self.wanted)


class Day(Strict, serializers.DateField):
    wanted = "must be a day such as 2027-02-10"

    def to_internal_value(self, data: Any) -> date:
        return _read(day_read, data, self.wanted)


class Moment(Strict, serializers.DateTimeField):
    wanted = "must be an instant with its offset, such as 2027-02-10T14:05:00-05:00"

    def to_internal_value(self, data: Any) -> datetime:
        return _read(moment_read, data, self.wanted)


@extend_schema_field({"type": "string", "pattern": CLOCK.pattern})
class Clock(Strict, serializers.TimeField):
    """Hours and minutes on a wall clock."""

    wanted = "must be a time such as 07:30"

    def __init__(self, **more: Any) -> None:
        super().__init__(format="%H:%M", input_formats=["%H:%M"], **more)

    def to_internal_value(self, data: Any) -> time:
        if isinstance(data, time) or not (isinstance(data, str) and CLOCK.fullmatch(data)):
            raise serializers.ValidationError(self.wanted)
        return time.fromisoformat(data)


def _read(reader: Callable[[str], Value], data: Any, wanted: str) -> Value:
    if not isinstance(data, str):
        raise serializers.ValidationError(wanted)
    try:
        return reader(data)
    except (ValueError, OverflowError) as error:
        raise serializers.ValidationError(str(error)) from error


class FormFlag(serializers.BooleanField):
    """A flag of a form, where everything is text."""

    def to_internal_value(self, data: Any) -> bool:
        if data in (True, False):
            return bool(data)
        if data not in {"true", "false"}:
            raise serializers.ValidationError("must be true or false")
        return bool(data == "true")
