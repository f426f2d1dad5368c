"""What became of one row, from the record of changes: who, when, and what was and is."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import FieldDoesNotExist
from django.db.models import ForeignKey, Model

from orders.common.models import Change
from orders.common.selectors import changes_of_row

DONE = {
    "add": "Added",
    "set": "Set",
    "edit": "Changed",
    "end": "Ended",
    "remove": "Removed",
    "deactivate": "Taken out of use",
    "activate": "Put back in use",
}
MOST_TEXT = 120


@dataclass(frozen=True)
class Said:
    """One field of a change; `before` is None where it was not there before."""

    name: str
    before: str | None
    after: str


@dataclass(frozen=True)
class Line:
    at: datetime
    who: str
    what: str
    why: str
    fields: list[Said]


def history_of(row: Any, form: Any = None) -> list[Line]:
    """The newest changes of the row first. Fields are called what the form calls them."""
    changes = list(changes_of_row(row))
    names = _row_names(type(row), changes)
    labels = {name: str(one.label) for name, one in form.fields.items() if one.label} if form is not None else {}
    return [_line(change, names, labels) for change in changes]


def _line(change: Change, names: Mapping[str, str], labels: Mapping[str, str]) -> Line:
    who = (change.actor.get_full_name() or change.actor.username) if change.actor else "The program"
    verb = DONE.get(change.verb.rpartition("_")[2], change.verb.replace("_", " ").capitalize())
    before = change.before or {}
    fields = [
        Said(
            labels.get(name, name.replace("_", " ").capitalize()),
            _text(before[name], names) if name in before else None,
            _text(value, names),
        )
        for name, value in (change.after or {}).items()
        if change.before is not None or value not in ("", None)
    ]
    return Line(change.at, who, verb, change.reason, fields)


def _row_names(model: type[Model], changes: Iterable[Change]) -> dict[str, str]:
    """What the rows are called that the changes name by id: one query for each column that names rows."""
    named: dict[str, set[str]] = {}
    for change in changes:
        for name, value in [*(change.before or {}).items(), *(change.after or {}).items()]:
            if isinstance(value, str) and _is_id(value):
                named.setdefault(name, set()).add(value)
    found: dict[str, str] = {}
    for name, ids in named.items():
        other = _other(model, name)
        if other is not None:
            found.update({str(row.public_id): str(row) for row in other._default_manager.filter(public_id__in=ids)})
    return found


def _other(model: type[Model], name: str) -> Any:
    try:
        field = model._meta.get_field(name)
    except FieldDoesNotExist:
        return None
    return field.related_model if isinstance(field, ForeignKey) else None


def _is_id(text: str) -> bool:
    try:
        return len(text) == 36 and bool(UUID(text))
    except ValueError:
        return False


def _text(value: Any, names: Mapping[str, str]) -> str:
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list) and not any(isinstance(one, dict | list) for one in value):
        return ", ".join(_text(one, names) for one in value) or "nothing"
    if isinstance(value, dict):
        return _parts_text([value])
    if isinstance(value, list):
        return _parts_text(value)
    text = names.get(str(value), str(value))
    return text if len(text) <= MOST_TEXT else f"{text[:MOST_TEXT]}…"


def _parts_text(parts: Sequence[Any]) -> str:
    """Rows that came with the row, such as the products of a mix: what each says, without what it leaves open."""
    told = [
        ", ".join(f"{name.replace('_', ' ')} {value}" for name, value in part.items() if value not in (None, ""))
        for part in parts
        if isinstance(part, dict)
    ]
    return "; ".join(filter(None, told)) or "nothing"
