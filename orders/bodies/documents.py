"""Free documents and shapes within a body: kept as they came, as far as both databases can keep them."""

import json
import math
from collections.abc import Mapping
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

CHARACTERS = 60_000
ESCAPED_NUL = "\\u0000"
DEGREES = (180.0, 90.0)
LEAST_RING = 4  # RFC 7946, section 3.1.6: a ring is closed, and so has four positions or more


@extend_schema_field({"type": "object", "additionalProperties": True})
class Document(serializers.DictField):
    """An object of JSON."""

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        kept: dict[str, Any] = super().to_internal_value(data)
        try:
            text = json.dumps(kept, allow_nan=False, ensure_ascii=False).encode().decode()
        except (ValueError, TypeError, RecursionError) as error:
            raise serializers.ValidationError("is not JSON") from error
        if len(text) > CHARACTERS or ESCAPED_NUL in text:
            raise serializers.ValidationError(f"must be text and numbers of at most {CHARACTERS:,} characters")
        return kept


class Shape(Document):
    """A GeoJSON geometry (RFC 7946) of one of some types, in degrees. Whether it is sound ground is not looked at."""

    def __init__(self, *types: str, **more: Any) -> None:
        self.types = types
        super().__init__(**more)

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        kept = super().to_internal_value(data)
        wanted = f"must be a GeoJSON {' or '.join(self.types)} in degrees, longitude first"
        if kept.get("type") not in self.types or not _is_sound(kept):
            raise serializers.ValidationError(wanted)
        return {"type": kept["type"], "coordinates": kept["coordinates"]}


def _is_sound(shape: Mapping[str, Any]) -> bool:
    coordinates = shape.get("coordinates")
    if shape["type"] == "Point":
        return _is_position(coordinates)
    return isinstance(coordinates, list) and bool(coordinates) and all(_is_ring(ring) for ring in coordinates)


def _is_ring(ring: Any) -> bool:
    if not isinstance(ring, list) or len(ring) < LEAST_RING:
        return False
    return all(_is_position(position) for position in ring) and ring[0] == ring[-1]


def _is_position(position: Any) -> bool:
    if not isinstance(position, list) or len(position) not in {2, 3}:
        return False
    numbers = [one for one in position if isinstance(one, int | float) and not isinstance(one, bool)]
    if len(numbers) != len(position) or not all(math.isfinite(one) for one in numbers):
        return False
    return all(abs(one) <= most for one, most in zip(numbers[:2], DEGREES, strict=True))
