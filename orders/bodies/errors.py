"""The framework's nested errors of a body as one flat list, wherever the body came from."""

from collections.abc import Mapping
from typing import Any

from orders.common.errors import FieldError

SHOWN_CHARACTERS = 200  # of a name that a client made up


def errors_flat(detail: Any, path: str = "") -> list[FieldError]:
    """DRF's nested error lists as one flat list that names each field (and row of a list)."""
    if isinstance(detail, Mapping):
        return [found for key, value in detail.items() for found in errors_flat(value, _joined(path, str(key)))]
    if isinstance(detail, list) and detail and not isinstance(detail[0], str):
        return [found for index, value in enumerate(detail) for found in errors_flat(value, f"{path}[{index}]")]
    texts = detail if isinstance(detail, list) else [detail]
    return [FieldError(path or "body", str(text), code=getattr(text, "code", "invalid")) for text in texts]


def _joined(path: str, key: str) -> str:
    """`times[2].minutes`; an error of a whole list or object is its own."""
    if key == "non_field_errors":
        return path
    inside = f"[{key}]" if key.isdigit() and path else f".{key}"
    return f"{path}{inside}".strip(".")[:SHOWN_CHARACTERS]
