"""The body of a request or a command: checked in shape, nothing looked up."""

from collections.abc import Mapping
from typing import Any

from rest_framework import serializers

from orders.bodies.fields import Text

NOT_KNOWN = "is not known here"


class Body(serializers.Serializer[Any]):
    """A request's body. What it does not know it refuses, so that a slip in a name is not lost silently."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, Mapping):
            unknown = [str(name)[:60] for name in data if name not in self.fields]
            if unknown:
                raise serializers.ValidationError({name: [NOT_KNOWN] for name in unknown})
        return super().to_internal_value(data)


class Nothing(Body):
    """No body, or an empty object."""


class Because(Body):
    """Why: kept with the change."""

    reason = Text(max_length=200)


def many(body: type[Body], *, most: int, **more: Any) -> Any:
    """A list of bodies, not longer than `most`."""
    return body(many=True, max_length=most, **more)  # type: ignore[call-arg]  # the stubs do not know of lists
