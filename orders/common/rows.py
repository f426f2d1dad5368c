"""Adding and editing one row of master data: checked field by field, with its change record."""

import hashlib
import json
import uuid
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, TypeVar

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import models

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, VersionMismatch
from orders.common.models import PublicIdModel, VersionedModel
from orders.common.stamp import Stamp

Row = TypeVar("Row", bound=PublicIdModel)
Edited = TypeVar("Edited", bound=VersionedModel)


class Findings:
    """What is wrong with the input so far: collect all of it, then refuse once."""

    def __init__(self) -> None:
        self.errors: list[FieldError] = []

    def need(self, right: bool, field: str, message: str) -> None:
        if not right:
            self.errors.append(FieldError(field, message))

    def days_in_order(self, first: date, last: date | None) -> None:
        self.need(last is None or last >= first, "last_day", f"The last day, {last}, is before the first, {first}.")

    def money(self, amount: int, field: str) -> None:
        whole = isinstance(amount, int) and not isinstance(amount, bool)
        self.need(whole and amount >= 0, field, "Must be a whole number, 0 or more.")

    def row(self, row: models.Model) -> None:
        """Add what Django's own checks find: lengths, choices, and codes that are taken."""
        known = {found.field for found in self.errors}
        for field, message in _row_problems(row, _left_empty(row)):
            if field not in known and (field or not known):
                self.errors.append(FieldError(field, message))

    def part(self, row: models.Model, *, of: str, number: int, parent: str) -> None:
        """The same for one of the parts that come with a row; `of` is the list that it stands in, `parent` its key."""
        known = {found.field for found in self.errors}
        for field, message in _row_problems(row, {*_left_empty(row), parent}):
            if field or of not in known:
                self.errors.append(FieldError(f"{of}.{field}" if field else of, message, row=number))

    def refuse(self, detail: str) -> None:
        if self.errors:
            raise Invalid(detail, errors=self.errors)


def _row_problems(row: models.Model, exclude: set[str]) -> Iterator[tuple[str, str]]:
    """(field, message) of each; the field is empty where the row as a whole is wrong."""
    try:
        row.full_clean(exclude=exclude)
    except ValidationError as error:
        for field, messages in error.message_dict.items():
            name = "" if field == NON_FIELD_ERRORS else field
            yield from ((name, str(message)) for message in messages)


def _left_empty(row: models.Model) -> set[str]:
    """Fields that may hold nothing and do: `blank` speaks of forms, not of rows."""
    return {field.name for field in row._meta.concrete_fields if field.null and getattr(row, field.attname) is None}


def row_add(
    row: Row, *, stamp: Stamp, verb: str, findings: Findings | None = None, leave_out: Iterable[str] = ()
) -> Row:
    """Check, insert and record. Call inside `writing()`, so that a code found free stays free until it is taken.

    `leave_out` keeps a field out of the record: the feed is read by more people than some figures may be.
    """
    found = findings or Findings()
    found.row(row)
    found.refuse(f"The {row._meta.verbose_name} was not added.")
    row.save(force_insert=True)
    change_record(stamp=stamp, verb=verb, entity=row, after=row_facts(row, leave_out))
    return row


def row_edit(row: Edited, *, stamp: Stamp, verb: str, expected: int, values: dict[str, Any]) -> Edited:
    """Check, compare-and-set on the version, and record what was and what is. Nothing to change: nothing recorded."""
    changed = {name: value for name, value in values.items() if value != getattr(row, name)}
    if row.version == expected and not changed:
        return row
    proposed = type(row)._default_manager.get(pk=row.pk)
    for name, value in changed.items():
        setattr(proposed, name, value)
    found = Findings()
    found.row(proposed)
    found.refuse(f"The {row._meta.verbose_name} was not changed.")
    before = version_bump(row, expected=expected, **changed)
    change_record(stamp=stamp, verb=verb, entity=row, before=plain_values(before), after=plain_values(changed))
    return row


def row_mark(row: models.Model) -> str:
    """What a row without a version is told apart by: it changes with any of the row's columns."""
    return hashlib.sha256(json.dumps(row_facts(row), sort_keys=True).encode()).hexdigest()[:16]


def unversioned_edit(row: Row, *, stamp: Stamp, verb: str, read: str | None, values: dict[str, Any]) -> Row:
    """`row_edit` for a row without a version; `read` is the mark of what was read, None takes the row as it is."""
    kept = unversioned_kept(row, read)
    changed = {name: value for name, value in values.items() if value != getattr(kept, name)}
    if not changed:
        return kept
    before = {name: getattr(kept, name) for name in changed}
    for name, value in changed.items():
        setattr(kept, name, value)
    found = Findings()
    found.row(kept)
    found.refuse(f"The {row._meta.verbose_name} was not changed.")
    kept.save(update_fields=list(changed))
    change_record(stamp=stamp, verb=verb, entity=kept, before=plain_values(before), after=plain_values(changed))
    return kept


def unversioned_remove(row: PublicIdModel, *, stamp: Stamp, verb: str, read: str | None) -> None:
    kept = unversioned_kept(row, read)
    change_record(stamp=stamp, verb=verb, entity=kept, before=row_facts(kept))
    kept.delete()


def unversioned_kept(row: Row, read: str | None) -> Row:
    """The row as it is now. Writers go one after another, so it stays so until the end of the write."""
    kept = type(row)._default_manager.filter(pk=row.pk).first()
    if kept is None or (read is not None and row_mark(kept) != read):
        raise VersionMismatch("This was changed by somebody else since you read it.")
    return kept


def row_remove(row: VersionedModel, *, stamp: Stamp, verb: str, expected: int) -> None:
    """Compare-and-delete on the version, and record what was."""
    before = row_facts(row)
    change_record(stamp=stamp, verb=verb, entity=row, before=before)
    deleted, _ = type(row)._default_manager.filter(pk=row.pk, version=expected).delete()
    if not deleted:
        raise VersionMismatch("This was changed by somebody else since you read it.", data={"version": row.version})


def row_facts(row: models.Model, leave_out: Iterable[str] = ()) -> dict[str, Any]:
    """The row's own columns in plain JSON, other rows by their public id where they have one."""
    hidden = {"id", "public_id", "version", "password", *leave_out}
    fields = [field for field in row._meta.concrete_fields if field.name not in hidden]
    return plain_values({field.name: getattr(row, field.name) for field in fields})


def plain_values(values: dict[str, Any]) -> dict[str, Any]:
    return {name: _plain(value) for name, value in values.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, models.Model):
        return str(getattr(value, "public_id", value.pk))
    if isinstance(value, date | datetime | time):
        return value.isoformat()
    if isinstance(value, Decimal | uuid.UUID):
        return str(value)
    return value
