"""JSON as the standard has it (RFC 8259): UTF-8, no NaN, no name twice in one object, no text that is none."""

import json
from typing import Any


def json_read(content: bytes) -> Any:
    """ValueError or RecursionError where it is no JSON."""
    text = content.decode("utf-8")
    parsed = json.loads(text, parse_constant=_refuse_constant, object_pairs_hook=_object)
    if "\\u" in text:
        json.dumps(parsed, ensure_ascii=False).encode("utf-8")  # half a surrogate pair is no text
    return parsed


def _refuse_constant(name: str) -> Any:
    raise ValueError(f"{name} is no number")


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        raise ValueError("an object holds a name twice")
    return found
