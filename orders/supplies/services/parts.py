"""A row and what it is made of, written as one: a product with its label, a mix with what goes into it."""

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from django.db import models

from orders.common.changes import change_record, version_bump
from orders.common.rows import Findings, plain_values, row_facts
from orders.common.stamp import Stamp
from orders.supplies.models import Mix, Product

WithParts = TypeVar("WithParts", Product, Mix)


def with_parts_add(
    row: WithParts, parts: Sequence[models.Model], *, stamp: Stamp, verb: str, found: Findings, facts: dict[str, Any]
) -> WithParts:
    """Insert a row and what it is made of as one write with one record."""
    found.row(row)
    found.refuse(f"The {row._meta.verbose_name} was not added.")
    row.save(force_insert=True)
    for part in parts:
        part.save(force_insert=True)
    change_record(stamp=stamp, verb=verb, entity=row, after=row_facts(row) | plain_values(facts))
    return row


def with_parts_edit(
    row: WithParts,
    parts: Mapping[str, Sequence[models.Model]],
    *,
    values: Mapping[str, Any],
    before: dict[str, Any],
    after: dict[str, Any],
    expected: int,
    stamp: Stamp,
    verb: str,
) -> WithParts:
    """Change a row and replace what it is made of, by the name of each list: one version, one record of what differs.

    The caller has checked the parts. Nothing differs: nothing is recorded.
    """
    changed = {name: value for name, value in after.items() if before.get(name) != value}
    if not changed and row.version == expected:
        return row
    version_bump(row, expected=expected, **values)
    for name, rows in parts.items():
        getattr(row, name).all().delete()
        for part in rows:
            part.save(force_insert=True)
    told = {name: before.get(name) for name in changed}
    change_record(stamp=stamp, verb=verb, entity=row, before=plain_values(told), after=plain_values(changed))
    row._prefetched_objects_cache = {}  # type: ignore[attr-defined]  # what was read with the row is no longer so
    return row
