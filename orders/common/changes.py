"""Writing the change record: version, audit, feed row and audience in one call."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db import models

from orders.common.errors import VersionMismatch
from orders.common.models import Change, ChangeAudience, VersionedModel
from orders.common.stamp import Stamp


def change_record(
    *,
    stamp: Stamp,
    verb: str,
    entity: models.Model,
    before: dict[str, Any] | None = None,
    after: dict[str, Any] | None = None,
    audience: Iterable[UUID] = (),
    gone: Iterable[UUID] = (),
) -> Change:
    """Add the record of one write, inside that write's transaction (orders.common.transactions.writing)."""
    change = Change.objects.create(
        at=stamp.at,
        actor=stamp.by,
        verb=verb,
        entity=entity._meta.model_name or "",
        entity_id=entity.public_id,  # type: ignore[attr-defined]
        entity_version=getattr(entity, "version", None),
        before=before,
        after=after,
        reason=stamp.reason,
    )
    left = set(gone)
    told = [ChangeAudience(change=change, crew_id=crew) for crew in sorted(set(audience) - left, key=str)]
    told += [ChangeAudience(change=change, crew_id=crew, gone=True) for crew in sorted(left, key=str)]
    ChangeAudience.objects.bulk_create(told)
    return change


def changes_record(*, stamp: Stamp, verb: str, written: Iterable[tuple[models.Model, dict[str, Any]]]) -> None:
    """The same for many rows of one write that concern no crew: (row, what it is now)."""
    Change.objects.bulk_create(
        [
            Change(
                at=stamp.at,
                actor=stamp.by,
                verb=verb,
                entity=entity._meta.model_name or "",
                entity_id=entity.public_id,  # type: ignore[attr-defined]
                entity_version=getattr(entity, "version", None),
                after=after,
                reason=stamp.reason,
            )
            for entity, after in written
        ],
        batch_size=500,
    )


def version_bump(row: VersionedModel, *, expected: int | None, **values: Any) -> dict[str, Any]:
    """Compare-and-set on the version; returns what the values were before. `expected=None` takes the row as read."""
    known = row.version if expected is None else expected
    before = {name: getattr(row, name) for name in values}
    held = type(row)._default_manager.filter(pk=row.pk, version=known)
    if held.update(version=known + 1, **values) != 1:
        raise VersionMismatch("This was changed by somebody else since you read it.", data={"version": row.version})
    row.version = known + 1
    for name, value in values.items():
        setattr(row, name, value)
    return before
