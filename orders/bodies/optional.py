"""Parts of a body that may be left out or null, and lists of ids."""

from typing import Any

from rest_framework import serializers

from orders.bodies.fields import Id, Number

MAY: dict[str, Any] = {"required": False, "allow_null": True}
MAY_SAY: dict[str, Any] = {**MAY, "allow_blank": True}


def ids(*, most: int, **more: Any) -> serializers.ListField:
    return serializers.ListField(child=Id(), max_length=most, **more)


def longitude() -> Number:
    return Number(min_value=-180, max_value=180, **MAY)


def latitude() -> Number:
    return Number(min_value=-90, max_value=90, **MAY)
