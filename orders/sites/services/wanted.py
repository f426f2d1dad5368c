"""What is wanted of many patches at once, and putting it back: all of them or none."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import F

from orders.common.errors import FieldError, Invalid, NotFound, WrongState
from orders.common.models import Change
from orders.common.rows import Findings
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.sites.models import CONTROL_STATES, Patch

VERB, UNDO_VERB = "patches_edit", "patches_edit_undo"
NAMED_IN_REFUSAL = 10
AT_ONCE = 500


@dataclass(frozen=True)
class PatchesEdited:
    """`public_id` is that of its first change record, by which it can be undone. `unchanged` had the values already."""

    public_id: UUID
    count: int
    unchanged: int
    values: dict[str, Any]


@writing()
def patches_edit(
    *, stamp: Stamp, patches: Sequence[Patch], target_cover: float | None = None, control_state: str | None = None
) -> PatchesEdited:
    """Change target cover, control state or both on all of these patches; None leaves a value. Needs a reason."""
    asked = {"target_cover": target_cover, "control_state": control_state}
    values = {name: value for name, value in asked.items() if value is not None}
    _refuse(patches, values, stamp)
    rows = _rows([patch.pk for patch in patches])
    changed = [row for row in rows if any(getattr(row, name) != value for name, value in values.items())]
    if not changed:
        raise Invalid("Nothing would change.", [FieldError("patches", "have these values already")])
    before = [{name: getattr(row, name) for name in values} for row in changed]
    head = _written(changed, before, [values] * len(changed), stamp, VERB)
    return PatchesEdited(head, len(changed), len(rows) - len(changed), values)


def _refuse(patches: Sequence[Patch], values: dict[str, Any], stamp: Stamp) -> None:
    found = Findings()
    found.need(bool(patches), "patches", "Name one at least.")
    for number, patch in enumerate(patches, start=1):
        found.need(patch.ended_on is None, f"patches[{number - 1}]", f"{patch} was split or merged: it has ended.")
    found.need(bool(values), "control_state", "Say what to change: the control state, the target cover, or both.")
    share = values.get("target_cover", 0)
    found.need(0 <= share <= 1, "target_cover", "Must be a share of the ground, 0 to 1.")
    known = values.get("control_state", CONTROL_STATES[0][0]) in dict(CONTROL_STATES)
    found.need(known, "control_state", f"Must be one of {', '.join(dict(CONTROL_STATES))}.")
    found.need(bool(stamp.reason.strip()), "reason", "Say why: it is kept with each patch.")
    found.refuse("No patch was changed.")


@writing()
def patches_edit_undo(*, stamp: Stamp, edit_id: UUID) -> int:
    """Put back what an edit of many patches changed, unless one of them was changed since. How many there were."""
    records = _records(edit_id)
    known = {row.public_id: row for row in _rows_by_id([record.entity_id for record in records])}
    rows = [known[record.entity_id] for record in records]
    later = [str(row) for row, record in zip(rows, records, strict=True) if row.version != record.entity_version]
    if later:
        more = f" and {len(later) - NAMED_IN_REFUSAL} more" if len(later) > NAMED_IN_REFUSAL else ""
        named = ", ".join(later[:NAMED_IN_REFUSAL])
        raise WrongState(f"Nothing was put back: these were changed since, or put back already: {named}{more}.")
    before, after = [record.after or {} for record in records], [record.before or {} for record in records]
    _written(rows, before, after, stamp, UNDO_VERB)
    return len(rows)


def _records(edit_id: UUID) -> list[Change]:
    """Of one edit: written together, so of one moment and one person."""
    head = Change.objects.filter(public_id=edit_id, verb=VERB).first()
    if head is None:
        raise NotFound("There is no such edit of patches.")
    same = Change.objects.filter(pk__gte=head.pk, verb=VERB, at=head.at, actor=head.actor, reason=head.reason)
    return list(same.order_by("id"))


def _rows(keys: Sequence[int]) -> list[Patch]:
    """As they are now: nobody else writes until this write ends."""
    found: dict[int, Patch] = {}
    for at in range(0, len(keys), AT_ONCE):
        found |= Patch.objects.select_related("site").defer("site__boundary").in_bulk(keys[at : at + AT_ONCE])
    return [found[key] for key in dict.fromkeys(keys)]


def _rows_by_id(ids: Sequence[UUID]) -> list[Patch]:
    found: list[Patch] = []
    for at in range(0, len(ids), AT_ONCE):
        rows = Patch.objects.filter(public_id__in=ids[at : at + AT_ONCE])
        found += rows.select_related("site").defer("site__boundary")
    return found


def _written(
    rows: Sequence[Patch],
    before: Sequence[dict[str, Any]],
    after: Sequence[dict[str, Any]],
    stamp: Stamp,
    verb: str,
) -> UUID:
    """Write the rows, one statement for all that get the same values, and a record for each; the id of the first."""
    alike: dict[tuple[tuple[str, Any], ...], list[int]] = {}
    for row, values in zip(rows, after, strict=True):
        alike.setdefault(tuple(sorted(values.items())), []).append(row.pk)
    for pairs, keys in alike.items():
        for at in range(0, len(keys), AT_ONCE):
            Patch.objects.filter(pk__in=keys[at : at + AT_ONCE]).update(version=F("version") + 1, **dict(pairs))
    told = zip(rows, before, after, strict=True)
    records = [_record(row, was, now, stamp, verb) for row, was, now in told]
    Change.objects.bulk_create(records, batch_size=AT_ONCE)
    return records[0].public_id


def _record(row: Patch, before: dict[str, Any], after: dict[str, Any], stamp: Stamp, verb: str) -> Change:
    return Change(
        at=stamp.at,
        actor=stamp.by,
        verb=verb,
        entity="patch",
        entity_id=row.public_id,
        entity_version=row.version + 1,
        before=before,
        after=after,
        reason=stamp.reason,
    )
