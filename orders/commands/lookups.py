"""Rows that a command names, by their public ids. What is not known here holds the command, with its field and row."""

from collections.abc import Iterable
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import Model

from orders.bodies.base import NOT_KNOWN
from orders.common.errors import FieldError, Invalid

Found = TypeVar("Found", bound=Model)
DETAIL = "Not known here: {}. It may still come from another tablet."
WAITS_FOR = "waits_for"


def awaited(*keys: UUID | str) -> dict[str, list[str]]:
    """For a refusal's data: they may still come from another tablet, and what brings one has this tried again."""
    return {WAITS_FOR: sorted({str(key) for key in keys})}


def named(kind: type[Found], key: UUID | str, field: str, *, by: str = "public_id") -> Found:
    found = kind._default_manager.filter(**{by: key}).first()
    if found is None:
        raise Invalid(DETAIL.format(field), [FieldError(field, NOT_KNOWN)], awaited(key))
    return found


def maybe_named(kind: type[Found], key: UUID | str | None, field: str, *, by: str = "public_id") -> Found | None:
    return None if key is None else named(kind, key, field, by=by)


def all_named(
    kind: type[Found], keys: Iterable[UUID | str | None], field: str, *, by: str = "public_id"
) -> dict[Any, Found]:
    """By the key; every one that is not known is told with its row, counted from 1. None names nothing."""
    asked = list(keys)
    rows = {getattr(row, by): row for row in kind._default_manager.filter(**{f"{by}__in": {*asked} - {None}})}
    missing = {number: key for number, key in enumerate(asked, start=1) if key is not None and key not in rows}
    if missing:
        errors = [FieldError(field, NOT_KNOWN, number) for number in missing]
        raise Invalid(DETAIL.format(field), errors, awaited(*missing.values()))
    return rows


def said(body: dict[str, Any], *names: str) -> dict[str, Any]:
    """These parts of the body, without those that were left out or null: the row's own defaults stand for them."""
    return {name: body[name] for name in names if body.get(name) is not None}
