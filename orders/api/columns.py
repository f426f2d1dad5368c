"""Lists straight from the columns: what the serializer of a row names is read as values, with no model built for it.

The serializer stays the one description of the row; here it is turned into column paths once. A test holds both ways
of reading to the same result.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from operator import itemgetter
from typing import Any

from django.db.models import Manager
from rest_framework import serializers

from orders.api.shapes import Out

Values = Sequence[Any]
Part = Callable[[Values], Any]


@dataclass(frozen=True)
class Children:
    """Rows of another table that each row holds: `shares` of a visit."""

    name: str
    source: str
    columns: "Columns"


@dataclass(frozen=True)
class Columns:
    """Paths to ask for, how to make a row of the values, and which children to fetch for a page at once."""

    paths: tuple[str, ...]
    parts: tuple[tuple[str, Part], ...]
    children: tuple[Children, ...]

    def row(self, values: Values) -> dict[str, Any]:
        return {name: part(values) for name, part in self.parts}

    def rows(self, model: Any, found: Iterable[tuple[int, Values]]) -> list[dict[str, Any]]:
        """Of (primary key, values): the rows as the serializer would show them."""
        keyed = {key: self.row(values) for key, values in found}
        for children in self.children:
            held = _children(model, children, list(keyed))
            for key, row in keyed.items():
                row[children.name] = held[key]
        return list(keyed.values())


@cache
def columns_of(row: type[Out], hidden: tuple[str, ...] = ()) -> Columns:
    paths: list[str] = []
    children: list[Children] = []
    parts = _parts(row(), "", paths, children, hidden)
    return Columns(tuple(paths), tuple(parts), tuple(children))


def _parts(
    row: serializers.BaseSerializer[Any],
    prefix: str,
    paths: list[str],
    children: list[Children],
    hidden: tuple[str, ...] = (),
) -> list[tuple[str, Part]]:
    found: list[tuple[str, Part]] = []
    for name, field in row.fields.items():  # type: ignore[attr-defined]  # every row is a Serializer
        path = prefix + (field.source or "").replace(".", "__")
        if name in hidden:
            continue
        if isinstance(field, serializers.ListSerializer):
            child: Any = type(field.child)
            children.append(Children(name, path, columns_of(child)))
            found.append((name, _nothing))
        elif isinstance(field, serializers.BaseSerializer):
            found.append((name, _branch(field, prefix if field.source == "*" else f"{path}__", paths, children)))
        else:
            found.append((name, _leaf(field, len(paths))))
            paths.append(path)
    return found


def _nothing(values: Values) -> Any:
    """A place for children, which come with the page."""
    return None


def _branch(row: serializers.BaseSerializer[Any], prefix: str, paths: list[str], children: list[Children]) -> Part:
    place = len(paths)
    paths.append(f"{prefix}pk")
    parts = _parts(row, prefix, paths, children)

    def read(values: Values) -> Any:
        return None if values[place] is None else {name: part(values) for name, part in parts}

    return read


def _leaf(field: serializers.Field[Any, Any, Any, Any], place: int) -> Part:
    written = next((write for kind, write in WRITTEN if isinstance(field, kind)), None)
    if isinstance(field, serializers.DecimalField):
        written = field.to_representation
    if written is None:
        return itemgetter(place)

    def read(values: Values) -> Any:
        return None if values[place] is None else written(values[place])

    return read


def _moment(value: datetime) -> str:
    """As DRF writes it; the database gives UTC."""
    return value.isoformat().replace("+00:00", "Z")


WRITTEN: tuple[tuple[type, Callable[[Any], Any]], ...] = (
    (serializers.UUIDField, str),
    (serializers.DateTimeField, _moment),
    (serializers.DateField, date.isoformat),
)


def _children(model: Any, children: Children, keys: list[int]) -> dict[int, list[dict[str, Any]]]:
    """By the key of the row that holds them, each in the order in which it was added."""
    relation = model._meta.get_field(children.source)
    manager: Manager[Any] = relation.related_model._default_manager
    rows = manager.filter(**{f"{relation.field.name}__in": keys}).order_by("pk")
    held: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for key, *values in rows.values_list(relation.field.attname, *children.columns.paths):
        held[key].append(children.columns.row(values))
    return held
